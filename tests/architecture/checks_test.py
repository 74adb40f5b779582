#!/usr/bin/env python3
"""Shows that the checks of this folder can fail: each gets a small tree with one fault and must name it."""
import pathlib
import sys
import tempfile
import unittest

import bench_rows
import clean_tree
import format as format_check
import include_direction
import readme_commands
from project_files import project_files


class Tree:
    """A project of a few files in a folder of its own."""

    def __init__(self, case, files):
        self.folder = tempfile.TemporaryDirectory()
        case.addCleanup(self.folder.cleanup)
        self.root = pathlib.Path(self.folder.name).resolve()
        for name, text in files.items():
            path = self.root / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")

    def files(self):
        return project_files(self.root)


HEADERS = {name: "" for name in ("models/jet.hpp", "sim/api/trace.hpp", "sim/run/run_case.hpp", "viz/window.hpp",
                                 "sim/validation/check.hpp", "tests/support/tolerance.hpp")}


class BenchRows(unittest.TestCase):
    def problems(self, table):
        tree = Tree(self, {"README.md": table, "tests/bench/a.cpp": 'out.push_back(\n  {"points per second", 1.0});'})
        return bench_rows.check_rows(tree.root)

    def test_rows(self):
        head, row = "```text\nfigure      value   goal\n", "points per second    90   >= 80   held\n    a note  of it\n"
        self.assertEqual(self.problems(head + row + "```\n"), [])
        self.assertIn("does not show: points per second", self.problems(head + "```\n")[0])
        self.assertIn("does not measure: lanes", self.problems(head + row + "lanes    6   >= 6   held\n```\n")[0])
        self.assertIn("no table", self.problems(row)[0])


class Includes(unittest.TestCase):
    def problems(self, file, include):
        tree = Tree(self, {**HEADERS, file: f"#pragma once\n#include {include}\n"})
        return include_direction.check_includes(tree.root, tree.files())

    def test_forbidden(self):
        for file, include in (("models/a.hpp", '"sim/api/trace.hpp"'), ("models/a.hpp", '"viz/window.hpp"'),
                              ("models/a.hpp", "<hdf5.h>"), ("models/a.hpp", "<toml++/toml.h>"),
                              ("models/a.hpp", "<fmt/format.h>"), ("models/a.hpp", "<SFML/Graphics.hpp>"),
                              ("models/a.hpp", "<boost/numeric/odeint.hpp>"), ("models/a.hpp", "<sim/api/trace.hpp>"),
                              ("models/a.hpp", '"jet.hpp"'), ("sim/run/a.cpp", '"viz/window.hpp"'),
                              ("sim/run/a.cpp", '"tests/support/tolerance.hpp"'), ("sim/run/a.cpp", "<SFML/Window.hpp>"),
                              ("sim/api/a.hpp", '"sim/run/run_case.hpp"'), ("sim/api/a.hpp", "<fmt/format.h>"),
                              ("sim/api/a.hpp", "<hdf5.h>"), ("viz/a.cpp", '"sim/run/run_case.hpp"'),
                              ("viz/a.cpp", '"models/jet.hpp"'), ("viz/panels/a.cpp", '"sim/run/run_case.hpp"'),
                              ("sim/validation/a.cpp", '"viz/window.hpp"'), ("other/a.cpp", "<vector>")):
            with self.subTest(file=file, include=include):
                problems = self.problems(file, include)
                self.assertEqual(len(problems), 1)
                self.assertTrue(problems[0].startswith(f"{file}:2: #include {include}"), problems[0])

    def test_allowed(self):
        for file, include in (("models/a.hpp", '"models/jet.hpp"'), ("models/a.hpp", "<cmath>"),
                              ("sim/run/a.cpp", '"models/jet.hpp"'), ("sim/run/a.cpp", "<fmt/format.h>"),
                              ("sim/cli/a.cpp", '"sim/validation/check.hpp"'), ("viz/a.cpp", '"sim/api/trace.hpp"'),
                              ("viz/a.cpp", "<SFML/Graphics.hpp>"), ("sim/api/a.hpp", '"models/jet.hpp"'),
                              ("tests/sim/a_test.cpp", '"tests/support/tolerance.hpp"')):
            with self.subTest(file=file, include=include):
                self.assertEqual(self.problems(file, include), [])

    def test_cases_stay_among_cases(self):
        tree = Tree(self, {"cases/runs/a.toml": 'base = ["../bikes/b.toml", "../../models/c.toml"]\n',
                           "cases/runs/a.sh": ""})
        problems = include_direction.check_cases(tree.root, tree.files())
        self.assertEqual(len(problems), 2)
        self.assertIn("../../models/c.toml", problems[1])


class CleanTree(unittest.TestCase):
    def test_names(self):
        tree = Tree(self, {"models/MainJet.hpp": "", "models/main_jet.hpp": "", "notes.md": "", "README.md": ""})
        problems = clean_tree.check_names(tree.files())
        self.assertEqual([p.split(":")[0] for p in problems], ["models/MainJet.hpp", "notes.md"])

    def test_text(self):
        for text in ("// TO" "DO later\n", "see /ho" "me/someone/file\n", "a\tb\n", "a \n", "no newline"):
            with self.subTest(text=text):
                tree = Tree(self, {"models/a.hpp": "// fine\n" + text})
                problems = clean_tree.check_text(tree.root, tree.files())
                self.assertEqual(len(problems), 1)
                self.assertTrue(problems[0].startswith("models/a.hpp:2:"), problems[0])

    def test_licence(self):
        self.assertEqual(len(clean_tree.check_licence(Tree(self, {"README.md": ""}).root)), 3)


class Format(unittest.TestCase):
    def test_names_file_and_line(self):
        tree = Tree(self, {".clang-format": "BasedOnStyle: Google\n", "models/a.hpp": "int  a;\n",
                           "models/b.hpp": "int b;\n"})
        problems, count = format_check.check_format(tree.root, CLANG_FORMAT, tree.files())
        self.assertEqual(count, 2)
        self.assertTrue(problems and all(p.startswith("models/a.hpp:1:") for p in problems), problems)


class Readme(unittest.TestCase):
    def run_text(self, text):
        tree = Tree(self, {".ci/demo": ""})
        return readme_commands.run_readme(text, tree.root, tree.root / "program", tree.root / "run")

    def test_runs_and_fails(self):
        self.assertEqual(self.run_text("```toml\n# a.toml\n```\n```sh\nbash .ci/demo\ncat a.toml\n```\n"), ([], 1))
        for text in ("no blocks", "```sh\nbash .ci/none\n```\n", "```sh\nfalse\n```\n", "```python\n1/0\n```\n",
                     "```toml\nx = 1\n```\n"):
            with self.subTest(text=text):
                self.assertTrue(self.run_text(text)[0])


if __name__ == "__main__":
    CLANG_FORMAT = sys.argv.pop(1)
    unittest.main()
