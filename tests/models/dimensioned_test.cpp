#include "tests/support/dimensioned.hpp"

#include <catch2/catch.hpp>

using namespace glassbowl::tests;
using namespace glassbowl::tests::units;

TEST_CASE("dimensioned: carries dimensions through products and roots", "[models][support][exact]") {
  const Dimensioned rho = 745.0 * density, drop = 2000.0 * pascal, area = 1e-6 * square_metre;
  const Dimensioned flow = area * sqrt(2.0 * rho * drop);
  CHECK(flow.dimension() == mass_flow);
  CHECK(flow.value() == 1e-6 * std::sqrt(2.0 * 745.0 * 2000.0));
  CHECK(sqrt(sqrt(drop * drop + drop * drop)).dimension() == pascal.root());
  CHECK((drop / rho).dimension() == joule_per_kilogram);
}

TEST_CASE("dimensioned: refuses to add, compare or exponentiate unlike quantities",
          "[models][support][exact]") {
  const Dimensioned drop = 2000.0 * pascal, length = 0.1 * metre;
  CHECK_THROWS_AS(drop + drop * drop, std::domain_error);
  CHECK_THROWS_AS(drop - length, std::domain_error);
  CHECK_THROWS_AS(drop < length, std::domain_error);
  CHECK_THROWS_AS(max(drop, length), std::domain_error);
  CHECK_THROWS_AS(drop + 1.0, std::domain_error);
  CHECK_THROWS_AS(exponential(drop), std::domain_error);
  CHECK_THROWS_AS(arc_cosine(length), std::domain_error);
  CHECK(exponential(drop / drop).value() == std::exp(1.0));
}

TEST_CASE("dimensioned: zero and guards against division by zero take any dimension",
          "[models][support][exact]") {
  const Dimensioned drop = 2000.0 * pascal;
  CHECK((drop + 1e-12).dimension() == pascal);
  CHECK(max(drop, Dimensioned(0)).dimension() == pascal);
  CHECK((Dimensioned(0) * drop).dimension() == pascal);
  CHECK_THROWS_AS(drop + 3e-6, std::domain_error);
  Dimensioned sum = 0;
  sum += drop;
  CHECK(sum.dimension() == pascal);
}
