"""Completion for bash, zsh and fish from the program's own help."""

FILE_OPTIONS = {"-o", "--output", "--csv", "--export", "--handout", "--screenshot", "--font", "--beside"}
KEY_OPTIONS = {"--set", "--after"}
CASE_ARGUMENTS = {"CASE", "BESIDE", "STUDY", "trace"}
LESSON_OPTIONS = {"--lesson"}
CASE_OPTIONS = {"--live", "--beside"}


class Words:
    """What is offered where."""

    def __init__(self, cases, keys, lessons):
        self.cases, self.keys, self.lessons = cases, keys, lessons

    def after(self, option):
        names = set(option.names)
        if names & KEY_OPTIONS:
            return [key + "=" for key in self.keys]
        if names & LESSON_OPTIONS:
            return self.lessons
        if names & CASE_OPTIONS:
            return self.cases
        return option.choices

    def of(self, help_):
        out = []
        for argument in help_.arguments():
            out += self.cases if argument.names[0] in CASE_ARGUMENTS else argument.choices
        return out


def bash_words(words):
    return "'" + "\n".join(words).replace("'", "'\\''") + "'"


def bash_command(help_, words):
    """What to offer within one command, as branches over the word before."""
    lines, taking = [], []
    for option in help_.options():
        if not option.value:
            continue
        offered = words.after(option)
        if offered:
            nospace = "; compopt -o nospace" if set(option.names) & KEY_OPTIONS else ""
            lines.append(f"      {'|'.join(option.names)}) "
                         f"COMPREPLY=($(compgen -W {bash_words(offered)} -- \"$current\")){nospace}; return ;;")
        elif set(option.names) & FILE_OPTIONS:
            lines.append(f"      {'|'.join(option.names)}) COMPREPLY=($(compgen -f -- \"$current\")); return ;;")
        else:
            taking += option.names
    if taking:
        lines.append(f"      {'|'.join(taking)}) return ;;")
    options = [name for option in help_.options() for name in option.names if name.startswith("--")]
    return "\n".join(["    case $before in", *lines, "    esac" if lines else "      *) ;;\n    esac",
                      f"    if [[ $current == -* ]]; then COMPREPLY=($(compgen -W {bash_words(options)} -- \"$current\"))",
                      f"    else COMPREPLY=($(compgen -f -W {bash_words(words.of(help_))} -- \"$current\")); fi"])


def bash(program, commands, words):
    """`commands`: help by command, that of the program itself under \"\"."""
    name = "_" + program.replace("-", "_")
    top = commands[""]
    lines = [f"# bash completion of {program}", f"{name}() {{",
             "  local current=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD-1]} command=${COMP_WORDS[1]}",
             "  COMPREPLY=()"]
    if len(commands) == 1:
        lines += ["  {", bash_command(top, words), "  }"]
    else:
        first = [c.names[0] for c in top.commands()] + [n for o in top.options() for n in o.names]
        lines += [f"  if ((COMP_CWORD == 1)); then COMPREPLY=($(compgen -W {bash_words(first)} -- \"$current\")); "
                  "return; fi", "  case $command in"]
        for command, help_ in commands.items():
            if command:
                lines += [f"  {command})", bash_command(help_, words), "    ;;"]
        lines.append("  esac")
    return "\n".join(lines + ["}", f"complete -o filenames -F {name} {program}"]) + "\n"


def zsh_text(text):
    return text.replace("\\", "\\\\").replace("'", "'\\''").replace("[", "\\[").replace("]", "\\]").replace(":", "\\:")


def zsh_list(offered):
    return "(" + " ".join(word.replace("'", "'\\''").replace(":", "\\:") for word in offered) + ")"


def zsh_arguments(help_, words, indent):
    out = []
    for option in help_.options():
        for name in option.names:
            value = ""
            if option.value:
                offered = words.after(option)
                action = zsh_list(offered) if offered else "_files" if set(option.names) & FILE_OPTIONS else " "
                value = f":value:{action}"
            out.append(f"'*{name}[{zsh_text(option.text)}]{value}'")
    for number, argument in enumerate(help_.arguments(), 1):
        action = "_files"
        if argument.names[0] in CASE_ARGUMENTS:
            action = f'{{_alternative "files:file:_files" "names:name:{zsh_list(words.cases)}"}}'
        elif argument.choices:
            action = zsh_list(argument.choices)
        out.append(f"'{number}:{argument.names[0].lower()}:{action}'")
    return f"{indent}_arguments " + f" \\\n{indent}  ".join(out)


def zsh(program, commands, words):
    top = commands[""]
    lines = [f"#compdef {program}", ""]
    if len(commands) == 1:
        return "\n".join(lines + [zsh_arguments(top, words, "")]) + "\n"
    lines += ["local -a commands=("]
    lines += [f"  '{c.names[0]}:{zsh_text(c.text)}'" for c in top.commands()]
    lines += [")", "if ((CURRENT == 2)); then", "  _describe command commands", "  return", "fi",
              "local command=$words[2]", "shift words", "((CURRENT--))", "case $command in"]
    for command, help_ in commands.items():
        if command:
            lines += [f"  {command})", zsh_arguments(help_, words, "    "), "    ;;"]
    return "\n".join(lines + ["esac"]) + "\n"


def fish_text(text):
    return "'" + text.replace("\\", "\\\\").replace("'", "\\'") + "'"


def fish_options(program, help_, words, condition):
    lines = []
    for option in help_.options():
        names = " ".join(f"-l {n[2:]}" if n.startswith("--") else f"-s {n[1:]}" for n in option.names)
        offered = words.after(option)
        value = ""
        if option.value:
            value = " -r" if set(option.names) & FILE_OPTIONS else " -x"
            if offered:
                value = f" -x -a {fish_text(' '.join(offered))}"
        lines.append(f"complete -c {program}{condition} {names}{value} -d {fish_text(option.text)}")
    offered = words.of(help_)
    if offered:
        lines.append(f"complete -c {program}{condition} -a {fish_text(' '.join(offered))}")
    return lines


def fish(program, commands, words):
    lines = [f"# fish completion of {program}"]
    for command, help_ in commands.items():
        if command:
            lines += fish_options(program, help_, words, f" -n '__fish_seen_subcommand_from {command}'")
        elif len(commands) == 1:
            lines += fish_options(program, help_, words, "")
        else:
            for c in help_.commands():
                lines.append(f"complete -c {program} -n __fish_use_subcommand -f -a {c.names[0]} "
                             f"-d {fish_text(c.text)}")
            lines += fish_options(program, help_, words, " -n __fish_use_subcommand")
    return "\n".join(lines) + "\n"
