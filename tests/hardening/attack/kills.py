"""Kills and signals at random moments: no temporary name stays, and the same command comes to its end."""
import signal
import time

from links import ROLES


def attack(tools):
    for words, _ in ROLES[:3]:
        with tools.shop() as shop:
            began = time.monotonic()
            shop.run(words)
            whole, took = shop.bytes_of("x.h5"), time.monotonic() - began
        for number in range(tools.count(8)):
            with tools.shop() as shop:
                child = shop.start(words)
                time.sleep(tools.random.uniform(0, took))
                child.send_signal((signal.SIGKILL, signal.SIGTERM, signal.SIGINT, signal.SIGHUP)[number % 4])
                child.communicate()
                hidden = {name for name in shop.names() if name.startswith(".")}
                tools.check(not hidden, words, None, f"{sorted(hidden)} are left by a kill")
                end = shop.run(words + ["--force"])
                tools.check(end.code == 0 and shop.bytes_of("x.h5") == whole, words, end, "not mended by running again")
