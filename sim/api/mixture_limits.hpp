#pragma once

namespace glassbowl::sim {

/// Whether a charge misfired of which this share [-] lit: the one place where it is decided.
constexpr bool misfired(double ignited) {
  return ignited < 0.5;
}

/// Leanest lambda [-] that a warm engine may have at a filling [-], air over a displacement of standard air
/// at sea level, and the richest it may have for long. Common practice; the same limits as in all studies.
double lean_limit_at(double filling);
double rich_limit();

}  // namespace glassbowl::sim
