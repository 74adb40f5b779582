#pragma once
#include "tests/bench/harness.hpp"

/// One function for each group of figures; each in the file of its name.
namespace glassbowl::bench {

void memory(Figures& out);
void single_run(Figures& out);
void lanes(Figures& out);
void dispatch(Figures& out);
void integrators(Figures& out);
void linearity(Figures& out);
void maps(Figures& out);
void drawn_bikes(Figures& out);
void steady_cycles(Figures& out);

}  // namespace glassbowl::bench
