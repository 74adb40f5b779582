#include <catch2/catch.hpp>
#include <cstdlib>
#include <set>

#include "sim/api/trace.hpp"
#include "tests/viz/pixels.hpp"
#include "tests/viz/run_files.hpp"
#include "viz/cutaway/cutaway.hpp"
#include "viz/cutaway/explain.hpp"
#include "viz/source/trace_source.hpp"

namespace glassbowl::viz {
namespace {

/// Everything that can be pointed at in the drawing of one run, at one time.
struct Pointed {
  explicit Pointed(const std::filesystem::path& file)
      : source(file), signals(source), cutaway(source, signals) {
    cutaway.advance(time);
    picture([&](Canvas& canvas) {
      cutaway.draw(canvas, {0, 0, 1280, 720}, dark_theme(), time, Cutaway::Look{});
    });
  }
  static constexpr double time = 0.31;
  TraceSource source;
  Signals signals;
  Cutaway cutaway;
};

/// The number before a unit in a text; NaN if there is none.
double number_before(const std::string& text, const std::string& unit) {
  const auto end = text.find(" " + unit);
  if (end == std::string::npos) return std::nan("");
  const auto begin = text.find_last_of(" ", end - 1);
  return std::atof(text.c_str() + (begin == std::string::npos ? 0 : begin + 1));
}

}  // namespace

TEST_CASE("explanations: every part in the drawing has name, size, present flow and duty", "[viz][explain]") {
  std::set<Part> seen;
  for (const auto& file : {RunFiles::fixed_venturi(), RunFiles::vacuum_piston()}) {
    Pointed pointed(file);
    for (const PartId id : pointed.cutaway.hits().parts()) {
      const Explanation e = explain(id, pointed.signals, Instant(pointed.source, Pointed::time));
      CAPTURE(name_of(id.part), e.now);
      CHECK_FALSE(e.name.empty());
      CHECK_FALSE(e.size.empty());
      CHECK_FALSE(e.duty.empty());
      CHECK(e.now.find_first_of("0123456789") != std::string::npos);
      CHECK(e.now.find("nan") == std::string::npos);
      CHECK(e.now.find("not in this trace") == std::string::npos);
      seen.insert(id.part);
    }
  }
  // All but `none`.
  CHECK(seen.size() + 1 == static_cast<std::size_t>(Part::count));
}

TEST_CASE("explanations: what is said is what the trace holds", "[viz][explain]") {
  Pointed pointed(RunFiles::fixed_venturi());
  const Instant now(pointed.source, Pointed::time);
  const auto said = [&](Part part) { return explain({part, 0}, pointed.signals, now); };
  const auto recorded = [&](const char* channel) { return now[pointed.source.find(channel)]; };
  CHECK(number_before(said(Part::main_jet).now, "mg/s") ==
        Approx(recorded("main_jet_flow") * 1e6).margin(0.06));
  CHECK(number_before(said(Part::well).now, "mm") == Approx(recorded("well_level") * 1e3).margin(0.006));
  CHECK(number_before(said(Part::manifold).now, "kPa") ==
        Approx(recorded("manifold_pressure") * 1e-3).margin(0.006));
  CHECK(number_before(said(Part::main_jet).size, "mm,") ==
        Approx(pointed.source.geometry().main_jet.bore * 1e3).margin(0.006));
}

TEST_CASE("explanations: a vacuum piston on its stop has no negative lift", "[viz][explain]") {
  TraceSource source(RunFiles::vacuum_piston());
  const Signals signals(source);
  double lowest = 0.0, when = 0.0;
  for (double t = 0.0; t < 0.59; t += 1e-3)
    if (const double lift = Instant(source, t)[signals.piston_lift]; lift < lowest) lowest = lift, when = t;
  REQUIRE(lowest < -0.006e-3);  // the stop gives way
  const auto said = explain({Part::vacuum_piston, 0}, signals, Instant(source, when));
  CHECK(said.now.find("lift 0.00 mm") != std::string::npos);
}

TEST_CASE("explanations: a part is found where it was drawn, without a pointer too", "[viz][explain]") {
  Pointed pointed(RunFiles::vacuum_piston());
  const auto& hits = pointed.cutaway.hits();
  for (const Part part : {Part::bowl, Part::main_jet, Part::vacuum_piston, Part::cylinder}) {
    const Box box = hits.places(part).front();
    // Smaller parts may lie in its middle; somewhere in it, it is itself.
    bool found = false;
    for (float x = box.x + 1; x < box.right(); x += 3)
      for (float y = box.y + 1; y < box.bottom(); y += 3) found = found || hits.find({x, y}).part == part;
    CAPTURE(name_of(part));
    CHECK(found);
  }
}

}  // namespace glassbowl::viz
