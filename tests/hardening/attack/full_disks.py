"""Files that may not grow and file systems that are full: one message, no temporary name, nothing lost."""
from workshop import MAP, SHEET, small_disk

COMMANDS = [(["run", "short.toml", "-o", "x.h5", "--csv", "x.csv"], ["x.h5", "x.csv"]),
            (["map", "short.toml", *MAP, "-o", "x.h5"], ["x.h5", "x-torque.svg", "x-lambda_0m.png"]),
            (["sheet", "short.toml", *SHEET, "-o", "x.h5"], ["x.h5", "x.html"])]


def attempt(tools, shop, words, outputs, wanted, limit):
    (shop / outputs[0]).write_bytes(b"precious")
    end = shop.run(words + ["--force"], limit=limit)
    where = f"{limit} bytes" if limit is not None else "a small disk"
    left = {name for name in shop.names() if not name.endswith((".partial", ".points", ".svg", ".png"))}
    tools.check(left <= {"short.toml", *outputs}, words, end, f"{where}: {sorted(left)} are left")
    for name, whole in zip(outputs, wanted):
        one = shop.bytes_of(name)
        tools.check(one in (None, b"precious", whole), words, end, f"{where}: {name} is not whole")
    tools.check(shop.bytes_of(outputs[0]) is not None, words, end, f"{where}: what was there is lost")
    tools.check(end.code == 1 or all(shop.bytes_of(n) == w for n, w in zip(outputs, wanted)), words, end,
                f"{where}: success without its files")
    tools.check(end.err.count("glassbowl: ") == (end.code != 0), words, end, f"{where}: not one message")


def attack(tools):
    for words, outputs in COMMANDS:
        with tools.shop() as shop:
            shop.run(words)
            wanted = [shop.bytes_of(name) for name in outputs]
        largest = max(map(len, wanted))
        for number in range(tools.count(14)):
            limit = tools.random.randrange(largest) if number > 1 else number * 10
            with tools.shop() as shop:
                attempt(tools, shop, words, outputs, wanted, limit)
                end = shop.run(words + ["--force"])
                same = all(shop.bytes_of(name) == whole for name, whole in zip(outputs, wanted))
                tools.check(end.code == 0 and same, words, end, f"not mended by more room after {limit} bytes")
        for number in range(tools.count(8)):
            with small_disk(tools.random.randrange(16, 16 + largest // 512)) as disk:
                if disk is None:
                    return
                with tools.shop(disk) as shop:
                    attempt(tools, shop, words, outputs, wanted, None)
