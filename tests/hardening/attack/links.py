"""Links at every output name, and files that are to be kept."""
from workshop import MAP, SHEET

# command, the names that it takes
ROLES = [(["run", "short.toml", "-o", "x.h5", "--csv", "x.csv"], ["x.h5", "x.csv", "x.h5.partial", "x.csv.partial"]),
         (["map", "short.toml", *MAP, "-o", "x.h5"],
          ["x.h5", "x.h5.points", "x-lambda_0m.svg", "x-lambda_0m.png", "x-torque.svg", "x-main_share.png"]),
         (["blips", "short.toml", "-o", "x.h5"], ["x.h5", "x-blip_response.svg", "x-blip_lambda.png"]),
         (["sheet", "short.toml", *SHEET, "-o", "x.h5", "--pdf"],
          ["x.h5", "x.html", "x.pdf", "x-fitted_0m.svg", "x-shares_3000rpm.png"])]
PLACES = ["victim", "nowhere", "folder", "/dev/null", "x.h5.missing", "../outside"]
VIEW_ROLES = [(["short.h5", "--size", "320x180", "--export", "x.png"], ["x.png"]),
              (["short.h5", "--size", "320x180", "--screenshot", "x.png", "--pictures", "2"], ["x.png"])]


def attempt(tools, shop, words, name, force, program=None):
    (shop / "victim").write_text("precious")
    (shop / "folder").mkdir(exist_ok=True)
    for place in PLACES + [None]:
        target = shop / name
        if place is None:  # a file, which only --force may replace
            if force:
                continue
            target.write_text("precious")
        else:
            target.symlink_to(place)
        before = shop.names()
        given = words + (["--force"] if force else [])
        end = shop.run(given, program=program)
        kept = shop.bytes_of(name) == b"precious" if place is None else target.is_symlink()
        refused = (1, 2) if name.endswith(".points") else (2,)  # that of another study may be there
        tools.check(end.code in refused and kept, given, end, f"{name} -> {place} was not refused")
        tools.check(shop.names() == before, given, end, f"{sorted(shop.names() ^ before)} changed")
        tools.check(shop.bytes_of("victim") == b"precious" and not (shop.outer / "outside").exists(), given, end,
                    f"{name} -> {place} was followed")
        target.unlink(missing_ok=True)
        (shop / "victim").write_text("precious")


def attack(tools):
    for words, names in ROLES:
        for name in names:
            for force in (False, True):
                with tools.shop() as shop:
                    attempt(tools, shop, words, name, force)
    if tools.view:
        for words, names in VIEW_ROLES:
            for force in (False, True):
                with tools.shop() as shop:
                    shop.run(["run", "short.toml"])
                    attempt(tools, shop, words, names[0], force, tools.view)
