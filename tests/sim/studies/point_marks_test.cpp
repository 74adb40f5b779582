#include "sim/studies/point_marks.hpp"

#include <catch2/catch.hpp>

#include "sim/studies/judging.hpp"

namespace glassbowl::sim {
namespace {

/// A point under load, inside all limits.
SteadyFigures good_point() {
  SteadyFigures f;
  f.state = 0.0;
  f.trapped = f.leanest = f.richest = 0.88;
  f.misfires = 0.0;
  f.torque = 30.0;
  f.filling = 0.8;
  f.swing = 0.05;
  f.fuel = 1e-3;
  f.idle = f.ports = 0.0;
  f.main = 1e-3;
  return f;
}

}  // namespace

TEST_CASE("marks: each has its own reason, and several stand together", "[sim][studies]") {
  const SteadyFigures good = good_point();
  CHECK(signs_of(good).empty());
  SteadyFigures f = good;
  f.leanest = lean_limit_under_load(f.filling) + 0.01;
  CHECK(signs_of(f) == "!");
  f.state = 1.0;
  CHECK(signs_of(f) == "!?");
  f.misfires = 0.1;
  CHECK(signs_of(f) == "!x?");
  f.swing = most_swing + 0.01;  // nobody judges what cannot be held
  CHECK(signs_of(f) == "~x?");
  f.torque = -5.0;  // on the overrun a lean mixture does no harm
  f.filling = 0.2;
  CHECK(signs_of(f) == "x?");
  CHECK(signs_of(SteadyFigures{}).empty());
  CHECK(good.converged());
}

TEST_CASE("marks: a heat map draws just the signs that its table prints", "[sim][studies]") {
  SteadyGrid grid{{0.0}, {0.0, 15.0}, {from_per_minute(2000.0), from_per_minute(3000.0)}, {0.1, 0.5, 1.0}};
  std::vector<SteadyFigures> figures(grid.size(), good_point());
  figures[grid.index(0, 1, 0, 2)].leanest = 1.05;
  figures[grid.index(0, 1, 1, 0)].misfires = 0.5;
  figures[grid.index(0, 1, 1, 1)].state = 1.0;
  figures[grid.index(0, 1, 0, 0)].swing = 0.5;
  figures[grid.index(0, 0, 0, 1)].leanest = 1.05;  // in the colder map
  const Chart chart = lambda_chart(grid, figures, 0, "lambda", "Lambda", 1);
  for (std::size_t s = 0; s < 2; ++s)
    for (std::size_t o = 0; o < 3; ++o) {
      std::string drawn;
      for (const auto& m : chart.marks)
        if (m.x == static_cast<double>(o) && m.y == static_cast<double>(s)) drawn += sign_of(m.mark);
      INFO(s << " " << o);
      CHECK(drawn == signs_of(figures[grid.index(0, 1, s, o)]));
    }
  CHECK(chart.marks.size() == 4);
  CHECK(chart.cells.meaning == "in-cylinder lambda");
}

}  // namespace glassbowl::sim
