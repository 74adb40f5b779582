#!/usr/bin/env python3
"""The Debian packages: what they hold is what an installation has, byte for byte; unpacked anywhere, the program
finds its libraries and cases; its desktop files are in order.

    installed_tree.py BUILD WORK CMAKE
"""
import hashlib
import os
import pathlib
import re
import shutil
import subprocess
import sys
import xml.etree.ElementTree

WANTED = """
usr/bin/glassbowl
usr/bin/glassbowl-view
usr/share/glassbowl/cases/case.schema.json
usr/share/glassbowl/cases/runs/blip.toml
usr/share/glassbowl/cases/lessons/idle_circuit.toml
usr/share/man/man1/glassbowl.1.gz
usr/share/man/man1/glassbowl-run.1.gz
usr/share/man/man5/glassbowl-case.5.gz
usr/share/man/man5/glassbowl-trace.5.gz
usr/share/bash-completion/completions/glassbowl
usr/share/zsh/vendor-completions/_glassbowl
usr/share/fish/vendor_completions.d/glassbowl.fish
usr/share/applications/glassbowl.desktop
usr/share/icons/hicolor/scalable/apps/glassbowl.svg
usr/share/mime/packages/glassbowl.xml
usr/share/metainfo/glassbowl.metainfo.xml
usr/share/doc/glassbowl/copyright
usr/share/doc/glassbowl/changelog.gz
""".split()
WANTED_DEVELOPMENT = """
usr/lib/libglassbowl_sim.a
usr/lib/pkgconfig/glassbowl.pc
usr/lib/cmake/glassbowl/glassbowl-config.cmake
usr/include/glassbowl/sim/api/trace.hpp
usr/include/glassbowl/models/fuel/jet.hpp
""".split()


WANTED_PYTHON = """
usr/lib/python3/dist-packages/glassbowl.py
usr/share/doc/python3-glassbowl/examples/plot_lambda.py
""".split()


def run(*words, **more):
    done = subprocess.run([str(w) for w in words], check=False, capture_output=True, text=True, **more)
    if done.returncode != 0:
        sys.exit(f"{' '.join(map(str, words))}\n{done.stdout}{done.stderr}")
    return done.stdout


def contents(root):
    """Path, mode and hash of every file, mode of every folder."""
    out = {}
    for path in sorted(root.rglob("*")):
        data = hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else ""
        out[str(path.relative_to(root))] = (oct(path.stat().st_mode & 0o7777), data)
    return out


def main():
    build, work, cmake = pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2]), sys.argv[3]
    shutil.rmtree(work, ignore_errors=True)
    work.mkdir(parents=True)
    problems = []
    run(pathlib.Path(cmake).parent / "cpack", "--config", build / "CPackConfig.cmake", "-B", work / "packages",
        "-D", "CPACK_DEBIAN_COMPRESSION_TYPE=gzip", cwd=work)
    version = re.search(r"CMAKE_PROJECT_VERSION:STATIC=(.*)", (build / "CMakeCache.txt").read_text()).group(1)
    architecture = run("dpkg", "--print-architecture").strip()
    for package, component, wanted in (("glassbowl", "program", WANTED),
                                       ("libglassbowl-dev", "development", WANTED_DEVELOPMENT),
                                       ("python3-glassbowl", "python", WANTED_PYTHON)):
        kind = "all" if component == "python" else architecture
        file = work / "packages" / f"{package}_{version}_{kind}.deb"
        unpacked, installed = work / package, work / f"{package}-installed"
        run("dpkg-deb", "-x", file, unpacked)
        os.umask(0o022)
        run(cmake, "--install", build, "--prefix", installed / "usr", "--component", component, "--strip")
        held, there = contents(unpacked), contents(installed)
        problems += [f"{package}: {path} is not in the package" for path in wanted if path not in held]
        problems += [f"{package}: {path}: package {held.get(path)}, installed {there.get(path)}"
                     for path in sorted(held.keys() | there.keys()) if held.get(path) != there.get(path)]
        if component == "program":
            depends = run("dpkg-deb", "-f", file, "Depends")
            problems += [f"the package does not depend on {library}: {depends}"
                         for library in ("libc6", "libhdf5-103-1", "libudunits2-0", "libfmt9", "libsfml-graphics2.5")
                         if library not in depends]

    root = work / "moved"  # neither where it was built nor where it would be installed
    (work / "glassbowl" / "usr").rename(root)
    libraries = run("ldd", root / "bin/glassbowl") + run("ldd", root / "bin/glassbowl-view")
    if "not found" in libraries:
        problems.append(libraries)
    listed = run(root / "bin/glassbowl", "list", "runs", cwd="/")
    if "warm_idle" not in listed:
        problems.append("moved, the program does not find its cases")
    run(root / "bin/glassbowl", "run", "blip", "--set", "run.settle=0 s", "--set", "run.duration=0.05 s",
        "-o", work / "moved.h5", "--no-sensitivity", cwd="/")
    if not (work / "moved.h5").exists():
        problems.append("moved, the program does not run")
    built = bytes(str(build.parent.parent), "utf-8")
    for program in ("glassbowl", "glassbowl-view"):
        if built in (root / "bin" / program).read_bytes():
            problems.append(f"{program} holds the path of the folder it was built in")

    desktop = (root / "share/applications/glassbowl.desktop").read_text()
    mime = (root / "share/mime/packages/glassbowl.xml").read_text()
    kind = re.search(r"^MimeType=([^;]*);", desktop, re.MULTILINE).group(1)
    if f'type="{kind}"' not in mime or "Icon=glassbowl\n" not in desktop:
        problems.append("the desktop entry does not fit its MIME type or icon")
    for name in ("metainfo/glassbowl.metainfo.xml", "icons/hicolor/scalable/apps/glassbowl.svg",
                 "mime/packages/glassbowl.xml"):
        xml.etree.ElementTree.parse(root / "share" / name)
    metainfo = (root / "share/metainfo/glassbowl.metainfo.xml").read_text()
    if f'version="{version}"' not in metainfo or kind not in metainfo:
        problems.append("the AppStream data lack version or MIME type")
    print("\n".join(problems) or "packages and installation are the same")
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main())
