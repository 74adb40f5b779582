"""The help of a program as its commands, options and arguments."""
import dataclasses
import re
import subprocess


@dataclasses.dataclass
class Entry:
    """An option, an argument or a command, as help shows it."""
    group: str        # heading above it
    names: list       # ["-o", "--output"], ["CASE"] or ["run"]
    value: str        # what an option takes, empty for none
    text: str
    required: bool = False
    choices: list = dataclasses.field(default_factory=list)

    @property
    def is_option(self):
        return self.names[0].startswith("-")


@dataclasses.dataclass
class Help:
    about: str
    usage: str        # without the program's name
    entries: list
    caution: str

    def options(self):
        return [e for e in self.entries if e.is_option]

    def arguments(self):
        return [e for e in self.entries if not e.is_option and e.group == "Positionals"]

    def commands(self):
        return [e for e in self.entries if e.group == "Subcommands"]


def run(*words):
    return subprocess.run(words, check=True, capture_output=True, text=True, encoding="utf-8").stdout


def entry_of(group, spec, text):
    words = spec.split(" ")
    value = " ".join(words[1:])
    choices = re.search(r"\{(.*)\}", value)
    required = "REQUIRED" in value
    value = value.replace("REQUIRED", "").strip()
    value = re.sub(r"^\w+:(INT in |UINT in |FLOAT in )?\[(.*) - (.*)\]", r"\2..\3", value)
    value = re.sub(r"^\w+:\{.*\}", words[0], value)
    return Entry(group, words[0].split(","), value, text, required, choices.group(1).split(",") if choices else [])


def parsed(text):
    """Help as the command-line library prints it: groups end in a colon, entries stand behind two spaces."""
    about, usage, entries, caution, group = [], "", [], [], ""
    for line in text.splitlines():
        heading = re.fullmatch(r"([A-Z][^:]*):", line)
        item = re.fullmatch(r"  (\S.*?)(?:\s{2,}(\S.*))?", line)
        if line.startswith("Usage: "):
            usage = re.sub(r"^Usage: \S+ ?", "", line)
        elif heading:
            group = heading.group(1)
        elif line.startswith("Caution:") or caution:
            caution.append(line)
        elif item and group:
            entries.append(entry_of(group, item.group(1), item.group(2) or ""))
        elif line.startswith("   ") and entries:
            entries[-1].text = (entries[-1].text + " " + line.strip()).strip()
        elif line.strip() and not usage:
            about.append(line.strip())
    if not entries:
        raise ValueError("no option found in this help:\n" + text)
    return Help(" ".join(about), usage, entries, " ".join(caution))


def help_of(program, command=None):
    return parsed(run(program, *([command] if command else []), "--help"))
