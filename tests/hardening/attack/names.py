"""Names of cases and outputs that a shell, gnuplot, chromium or ffmpeg could take for something else."""
import shutil

from workshop import MAP, SHEET

STEMS = ["|touch PWNED;", "|touch PWNED >", "<touch PWNED", "> PWNED", "-p", "--help", "--", "$(touch PWNED)",
         "`touch PWNED`", "a;touch PWNED", "a&touch PWNED", "a'\"b", "'", "\"", "a\nb", "a\tb", "%s%n", "a b", "*", "~", "!a",
         "pipe:1", "file:a", "http:a", "concat:a", "a#b?c=d", "a\\nb", "\u202egnp", "ü", "-loglevel"]


def strange(random):
    return "".join(random.choice("|<>-$`'\";&\n*?~!#%:\\ ()ab") for _ in range(random.randint(2, 12))).strip("./ ") or "|"


def attack(tools):
    rest = tools.random.sample(STEMS[3:], min(tools.count(12), len(STEMS) - 3))
    stems = STEMS[:3] + rest + [strange(tools.random) for _ in range(tools.count(6))]
    for number, stem in enumerate(stems):
        with tools.shop() as shop:
            def try_it(words, wanted):
                before = shop.names()
                end = shop.run(words)
                new = shop.names() - before
                tools.check("PWNED" not in new, words, end, "a name was run")
                tools.check(end.code != 0 or new == set(wanted), words, end, f"wrote {sorted(new)}")
                tools.check(end.code == 0, words, end, "a harmless name is refused")

            shutil.copy(shop / "short.toml", shop / f"{stem}.toml")
            charts = ["lambda_0m", "main_share", "torque"]
            if number % 2 == 0:
                try_it(["map", f"./{stem}.toml", *MAP], [f"{stem}-map.h5"] +
                       [f"{stem}-map-{chart}.{kind}" for chart in charts for kind in ("svg", "png")])
            else:
                try_it(["map", "short.toml", *MAP, f"--output={stem}x.h5"], [f"{stem}x.h5"] +
                       [f"{stem}x-{chart}.{kind}" for chart in charts for kind in ("svg", "png")])
            try_it(["run", "short.toml", f"--output={stem}.h5", f"--csv={stem}.csv"], [f"{stem}.h5", f"{stem}.csv"])
    for stem in tools.random.sample(STEMS, tools.count(2)):  # a browser takes seconds
        with tools.shop() as shop:
            words = ["sheet", "short.toml", *SHEET, f"--output={stem}.h5", "--pdf"]
            end = shop.run(words)
            pdf = shop.bytes_of(f"{stem}.pdf") or b""
            tools.check(end.code == 0 and pdf.startswith(b"%PDF") and "PWNED" not in shop.names(), words, end, "no sheet")
    if tools.view:
        with tools.shop() as shop:
            shop.run(["run", "short.toml"])
            for stem in tools.random.sample(STEMS, tools.count(3)):
                for kind in (".png", ".mp4", ".gif"):
                    words = ["short.h5", "--size", "320x180", "--at", "0.01", "--to", "0.011", f"--export={stem}{kind}"]
                    if kind == ".png":
                        del words[5:7]
                    before = shop.names()
                    end = shop.run(words, program=tools.view)
                    new = shop.names() - before
                    tools.check(end.code == 0 and new == {f"{stem}{kind}"}, words, end, f"wrote {sorted(new)}")
