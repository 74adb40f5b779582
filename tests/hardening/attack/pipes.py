"""Pipes, sockets, devices and folders at every output name: refused at once, never opened, never replaced."""
import os
import socket
import stat

from links import ROLES


def make(path, kind):
    if kind == "pipe":
        os.mkfifo(path)
    elif kind == "socket":
        with socket.socket(socket.AF_UNIX) as one:
            here = os.getcwd()
            os.chdir(path.parent)
            one.bind(path.name)
            os.chdir(here)
    elif kind == "device":
        os.mknod(path, stat.S_IFCHR | 0o600, os.makedev(1, 3))
    else:
        path.mkdir()


def attack(tools):
    kinds = ["pipe", "socket", "folder"] + (["device"] if os.geteuid() == 0 else [])
    for words, names in ROLES:
        for name in names:
            for kind in kinds:
                for force in (False, True):
                    with tools.shop() as shop:
                        make(shop / name, kind)
                        before, mode = shop.names(), (shop / name).lstat().st_mode
                        given = words + (["--force"] if force else [])
                        end = shop.run(given)
                        tools.check(end.code == 2 and shop.names() == before and (shop / name).lstat().st_mode == mode,
                                    given, end, f"a {kind} at {name} was not refused")
