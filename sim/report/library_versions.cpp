#include "sim/report/library_versions.hpp"

#include <fmt/format.h>
#include <hdf5.h>
#include <toml++/toml.h>

#include <Eigen/Core>
#include <boost/version.hpp>
#include <nlohmann/json.hpp>

namespace glassbowl::sim {

std::vector<std::string> library_versions() {
  unsigned major = 0, minor = 0, release = 0;
  H5get_libversion(&major, &minor, &release);
  return {
      fmt::format("HDF5 {}.{}.{}", major, minor, release),
      fmt::format("Boost {}.{}.{}", BOOST_VERSION / 100000, BOOST_VERSION / 100 % 1000, BOOST_VERSION % 100),
      fmt::format("Eigen {}.{}.{}", EIGEN_WORLD_VERSION, EIGEN_MAJOR_VERSION, EIGEN_MINOR_VERSION),
      fmt::format("fmt {}.{}.{}", FMT_VERSION / 10000, FMT_VERSION / 100 % 100, FMT_VERSION % 100),
      fmt::format("toml++ {}.{}.{}", TOML_LIB_MAJOR, TOML_LIB_MINOR, TOML_LIB_PATCH),
      fmt::format("nlohmann-json {}.{}.{}", NLOHMANN_JSON_VERSION_MAJOR, NLOHMANN_JSON_VERSION_MINOR,
                  NLOHMANN_JSON_VERSION_PATCH)};
}

}  // namespace glassbowl::sim
