"""Manual pages from the program's own help, keys and channels."""
import re

EXIT_STATUS = [
    ("0", "done"),
    ("1", "the run or a check failed, or the engine stalled"),
    ("2", "wrong use, bad input, or a name for the output that cannot be taken"),
]
CASE_FORMAT = """\
A case is a TOML file. It describes a bike, a part of one, or a ride, and says what differs from the files named in
base. A base is found beside the case, in the folder above it, or among the shipped cases; its ending .toml may be
left out. Of two bases the later one counts.

Every quantity carries its unit, in any spelling that UDUNITS-2 knows: "1.25 mm", "1 3/32 in", "4000 ft", "95 C",
"3000 rpm". A pure number needs none, and may be a ratio, "8.5:1". How well a quantity is known may stand behind it,
as half of its 95 % range: "45 cm3 +- 10 cm3".

A table of points, [["0 s", "0 %"], ["1 s", "80 %"]], is a value over time. A single quantity is a constant.

A first line "#:schema PATH" names the schema to editors. The shipped one lies beside the shipped cases as
case.schema.json, and glassbowl list keys --schema prints it."""
TRACE_FORMAT = """\
A trace is an HDF5 file that also opens as netCDF-4. All channels lie in the root group, along time or along cycle.
The rows of time are a constant interval apart; cycle counts engine cycles from the start of the run. A channel is a
column of 32-bit numbers, of 64-bit ones where budgets need them. What is not known is NaN.

A killed run leaves NAME.h5.partial, which opens up to its last rows. Rows not yet written have the time NaN.
A finished trace is sealed: hashes of its pages stand behind the end that HDF5 sees, so that any damage is found.
A program that writes to the file cuts the seal off."""
TRACE_ATTRIBUTES = [
    ("Conventions", "CF-1.10: the Climate and Forecast conventions, as far as they apply to an engine"),
    ("title", "title of the case"),
    ("program, program_version", "what wrote the file, and its version"),
    ("status", "running, complete, or why the run ended early"),
    ("all others", "figures of the summary, in SI units unless the name says the unit"),
]
CHANNEL_ATTRIBUTES = [
    ("units", "as UDUNITS-2 spells it; 1 for a pure number"),
    ("long_name", "meaning"),
    ("part", "part of carburetor or engine"),
    ("standard_name", "where the CF conventions have one: air outside and altitude"),
    ("cell_methods", "\"time: mean\" for means over the engine cycle"),
]
TRACE_CONVENTIONS = """\
SI units, absolute pressures, radians, kelvin. Flow is positive toward the engine, out of a jet, out of a channel.
Crank angle counts from firing top dead centre of cylinder 1. Heights count upward from the bowl joint face, the mating
face of the bowl. Time 0 is where the trace begins; settling is before it.

The dataset case_resolved holds the complete case in TOML: glassbowl run TRACE runs it again to the same bits with the
same version. A trace of another version is read as well; where a key of its case is no longer known, the error
names it and says how to take the case out."""


def roff(text):
    text = text.replace("\\", "\\e").replace("-", "\\-")
    return re.sub(r"^([.'])", r"\\&\1", text, flags=re.MULTILINE)


def paragraphs(text):
    return "\n.PP\n".join(roff(part) for part in text.split("\n\n"))


def tagged(rows):
    return "\n".join(f".TP\n.B {roff(name)}\n{roff(text) or 'no description'}" for name, text in rows)


def entry(e):
    names = ", ".join(f"\\fB{roff(name)}\\fR" for name in e.names)
    value = f" \\fI{roff(e.value)}\\fR" if e.value and e.is_option else ""
    text = roff(e.text) or "no description"
    if e.required:
        text += " (required)"
    if e.choices:
        text += ": " + roff(", ".join(e.choices))
    return f".TP\n{names}{value}\n{text}"


class Page:
    def __init__(self, name, section, summary, source, date):
        self.name, self.section = name, section
        self.lines = [f'.TH {name.upper()} {section} "{date}" "{source}" "glassbowl manual"',
                      ".SH NAME", f"{roff(name)} \\- {roff(summary)}"]

    def add(self, heading, text, level="SH"):
        if text:
            self.lines += [f".{level} {roff(heading)}", text]
        return self

    def text(self):
        return "\n".join(self.lines) + "\n"


def first_lower(text):
    return text[:1].lower() + text[1:].rstrip(".")


def options_of(page, help_):
    groups = {}
    for e in help_.entries:
        if e.group != "Subcommands":
            groups.setdefault("ARGUMENTS" if e.group == "Positionals" else e.group.upper(), []).append(e)
    for group, entries in groups.items():
        page.add(group, "\n".join(entry(e) for e in entries))


def command_page(name, help_, source, date, see):
    page = Page(name.replace(" ", "-"), 1, first_lower(help_.about), source, date)
    page.add("SYNOPSIS", f".B {roff(name.split()[0])}\n{roff(help_.usage)}")
    page.add("DESCRIPTION", roff(help_.about))
    options_of(page, help_)
    if help_.commands():
        page.add("COMMANDS", tagged((c.names[0], c.text) for c in help_.commands()))
    page.add("EXIT STATUS", tagged(EXIT_STATUS))
    page.add("CAUTION", roff(re.sub(r"^Caution: ", "", help_.caution)))
    return page.add("SEE ALSO", ",\n".join(f".BR {roff(other)} ({section})" for other, section in see)
                    .replace(",\n.BR", " ,\n.BR"))


def keys_of(schema, path=""):
    """Sections with their keys, top level first."""
    here = {name: entry for name, entry in schema["properties"].items() if "properties" not in entry}
    if here:
        yield path, here
    for name, inner in schema["properties"].items():
        if "properties" in inner:
            yield from keys_of(inner, f"{path}.{name}".strip("."))


def case_page(schema, source, date):
    page = Page("glassbowl-case", 5, "case files of glassbowl", source, date)
    page.add("DESCRIPTION", paragraphs(CASE_FORMAT))
    page.add("KEYS", "Each with its meaning, what is allowed, and its default.")
    for section, keys in keys_of(schema):
        page.add(f"[{section}]" if section else "Top level",
                 tagged((name, key["description"]) for name, key in keys.items()), "SS")
    return page.add("SEE ALSO", ".BR glassbowl (1),\n.BR glassbowl\\-trace (5)")


def channel_rows(listing):
    """(along what, name, unit, meaning) of each channel in what `list channels` prints."""
    along, rows = "", []
    for line in listing.splitlines():
        if line.startswith("along "):
            along = line
        elif line.startswith("    ") and rows:  # the meaning goes on
            rows[-1][-1] += " " + line.strip()
        elif line.startswith("  ") and along:
            rows.append([along, *re.split(r"\s{2,}", line.strip(), maxsplit=2)])
    return rows


def trace_page(listing, source, date):
    page = Page("glassbowl-trace", 5, "traces of glassbowl", source, date)
    page.add("DESCRIPTION", paragraphs(TRACE_FORMAT))
    page.add("ATTRIBUTES", "Of the file:\n" + tagged(TRACE_ATTRIBUTES) + "\n.PP\nOf a channel:\n"
             + tagged(CHANNEL_ATTRIBUTES))
    page.add("CONVENTIONS", paragraphs(TRACE_CONVENTIONS))
    page.add("CHANNELS", "Those of a twin with everything fitted. Numbered ones are there once per cylinder or "
             "transfer port.")
    rows = channel_rows(listing)
    for along in dict.fromkeys(row[0] for row in rows):
        page.add(along.capitalize(), tagged((f"{name} [{unit}]", meaning) for at, name, unit, meaning in rows
                                            if at == along), "SS")
    return page.add("SEE ALSO", ".BR glassbowl (1),\n.BR glassbowl\\-case (5)")
