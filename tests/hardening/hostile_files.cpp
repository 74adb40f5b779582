#include <fmt/format.h>
#include <hdf5.h>
#include <hdf5_hl.h>

#include <filesystem>
#include <string>

#include "sim/trace/result_file.hpp"

// Makes hostile files of sound ones, for the attack on the program's readers.
//   hostile_files bomb TRACE COLUMNS ROWS CHUNK   adds to TRACE compressed columns of zeros
//   hostile_files virtual TRACE NAME SOURCE       puts in the place of NAME a dataset whose values lie in
//   SOURCE hostile_files asks STUDY JSON                 changes what STUDY was asked
namespace {

using glassbowl::sim::ResultFile;

int add_zeros(const std::string& trace, int columns, hsize_t rows, hsize_t chunk) {
  const hid_t file = H5Fopen(trace.c_str(), H5F_ACC_RDWR, H5P_DEFAULT),
              creation = H5Pcreate(H5P_DATASET_CREATE), space = H5Screate_simple(1, &rows, nullptr),
              time = H5Dopen2(file, "time", H5P_DEFAULT);
  H5Pset_chunk(creation, 1, &chunk);
  H5Pset_deflate(creation, 1);
  for (int i = 0; i < columns; ++i) {
    const hid_t dataset = H5Dcreate2(file, fmt::format("zeros_{}", i).c_str(), H5T_IEEE_F64LE, space,
                                     H5P_DEFAULT, creation, H5P_DEFAULT);
    if (H5DSattach_scale(dataset, time, 0) < 0) return 1;
    H5Dclose(dataset);
  }
  H5Dclose(time);
  return H5Fclose(file) < 0;
}

int put_virtual(const std::string& trace, const std::string& name, const std::string& source) {
  const hsize_t length = 10, endless = H5S_UNLIMITED, begin = 0, one = 1;
  const hid_t file = H5Fopen(trace.c_str(), H5F_ACC_RDWR, H5P_DEFAULT),
              creation = H5Pcreate(H5P_DATASET_CREATE), space = H5Screate_simple(1, &length, &endless);
  if (H5Lexists(file, name.c_str(), H5P_DEFAULT) > 0) H5Ldelete(file, name.c_str(), H5P_DEFAULT);
  H5Sselect_hyperslab(space, H5S_SELECT_SET, &begin, nullptr, &endless, &one);
  H5Pset_virtual(creation, space, source.c_str(), "/rows", space);
  const hid_t dataset =
      H5Dcreate2(file, name.c_str(), H5T_IEEE_F64LE, space, H5P_DEFAULT, creation, H5P_DEFAULT);
  if (dataset < 0 || H5DSset_scale(dataset, name.c_str()) < 0) return 1;
  H5Dclose(dataset);
  return H5Fclose(file) < 0;
}

int ask(const std::string& study, const std::string& json) {
  ResultFile result = glassbowl::sim::read_result_file(study);
  result.inputs = json;
  glassbowl::sim::write_result_file(study, true, result);
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  const std::string what = argc > 1 ? argv[1] : "";
  if (what == "bomb" && argc == 6)
    return add_zeros(argv[2], std::stoi(argv[3]), std::stoull(argv[4]), std::stoull(argv[5]));
  if (what == "virtual" && argc == 5) return put_virtual(argv[2], argv[3], argv[4]);
  if (what == "asks" && argc == 4) return ask(argv[2], argv[3]);
  return 2;
}
