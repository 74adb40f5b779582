"""Several runs of one name at once: whoever ends with 0 has left a whole result, and every result is one run's."""
import time

from workshop import MAP

RUNS = [["run", "short.toml", "--set", f"run.duration={ms} ms"] for ms in (3, 5, 8)]
MAPS = [["map", "short.toml", *MAP, "--set", f"rider.throttle={share} %"] for share in (30, 40, 50)]


def references(tools, commands, outputs, options):
    """What each command writes when it is alone."""
    found, began = [], time.monotonic()
    for words in commands:
        with tools.shop() as shop:
            shop.run(words + options)
            found.append([shop.bytes_of(name) for name in outputs])
    return found, (time.monotonic() - began) / len(commands)


def race(tools, commands, outputs, options, wanted, took, force, stale):
    with tools.shop() as shop:
        if stale:
            (shop / (outputs[0] + ".partial")).write_text("left by a killed run")
        given = options + (["--force"] if force else [])
        children = []
        for words in tools.random.sample(commands, len(commands)):
            children.append(shop.start(words + given))
            time.sleep(tools.random.choice((0.0, tools.random.uniform(0.0, took / 3))))
        errors = [child.communicate(timeout=60)[1].decode(errors="replace") for child in children]
        codes = [child.returncode for child in children]
        sound = all(code in (0, 1, 2) for code in codes) and all(
            (code == 0) == (not error) for code, error in zip(codes, errors))
        tools.check(sound, given, None, f"codes {codes}, messages {errors}")
        tools.check(sum(code == 0 for code in codes) >= 1 if force or not stale else True, given, None, "nobody won")
        if not force and not stale:
            tools.check(codes.count(0) == 1, given, None, f"{codes.count(0)} won without --force")
        got = [shop.bytes_of(name) for name in outputs]
        if codes.count(0):
            for place, (name, one) in enumerate(zip(outputs, got)):
                tools.check(one in [reference[place] for reference in wanted], given, None, f"{name} is nobody's result")
        left = shop.names() - set(outputs) - {"short.toml"}
        if stale and not force:
            left -= {outputs[0] + ".partial"}
        tools.check(not left, given, None, f"{sorted(left)} are left")


def attack(tools):
    trace = ["x.h5", "x.csv"]
    options = ["-o", "x.h5", "--csv", "x.csv"]
    wanted, took = references(tools, RUNS, trace, options)
    for number in range(tools.count(60)):
        race(tools, RUNS, trace, options, wanted, took, force=number % 4 != 0, stale=number % 3 == 0)
    study = ["x.h5", "x-lambda_0m.svg", "x-torque.png"]
    others = [f"x-{chart}.{kind}" for chart in ("lambda_0m", "main_share", "torque") for kind in ("svg", "png")]
    study += [name for name in others if name not in study]
    wanted, took = references(tools, MAPS, study, ["-o", "x.h5"])
    for number in range(tools.count(6)):
        race(tools, MAPS, study, ["-o", "x.h5"], wanted, took, force=True, stale=False)
