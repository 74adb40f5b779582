"""What steers a terminal, in titles, keys, values, names of variants, of cases and of files: never printed raw."""
STEERING = ["\x1b[2J", "\x1b]0;taken\x07", "\x9b31m", "\u202e", "\u2066", "\x07", "\x08", "\x7f", "\r", "\U000e0041"]


def raw(text):
    """Whether bytes or letters that steer a terminal stand in what was printed."""
    return [c for c in text if (ord(c) < 32 and c != "\n") or 127 <= ord(c) < 160 or "\u202a" <= c <= "\u202e"
            or "\u2066" <= c <= "\u2069" or 0xE0000 <= ord(c) <= 0xE007F]


def toml(text):
    return "".join(c if " " <= c <= "~" else f"\\U{ord(c):08x}" for c in text)


def attack(tools):
    for steering in STEERING:
        titled = f'title = "a{toml(steering)}b"\nbase = "short.toml"\n'
        wrong = f'base = "short.toml"\n"key{toml(steering)}" = 1\nengine.bore = "{toml(steering)}"\n'
        for text, words in [
                (titled, ["run", "given.toml", "--no-trace"]),
                (titled, ["check", "given.toml", "--no-computation"]),
                (wrong, ["check", "given.toml"]),
                (wrong, ["run", "given.toml"]),
                (f"{steering} = [\n", ["check", "given.toml"]),
                (titled, ["run", "given.toml", "--set", f"engine.bore={steering}"]),
                (titled, ["run", f"none{steering}.toml"]),
                (titled, ["blips", "given.toml", "--variant", f"a{steering}: no.key=1"]),
                (titled, ["list", f"keys{steering}"])]:
            with tools.shop() as shop:
                (shop / "given.toml").write_text(text)
                end = shop.run(words)
                found = raw(end.out + end.err)
                tools.check(not found, words, end, f"printed what steers a terminal: {found}")
