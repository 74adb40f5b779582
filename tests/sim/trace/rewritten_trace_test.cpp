#include <fmt/format.h>
#include <hdf5.h>
#include <sys/resource.h>
#include <sys/stat.h>

#include <catch2/catch.hpp>
#include <chrono>
#include <functional>

#include "sim/api/error.hpp"
#include "sim/api/trace.hpp"
#include "sim/trace/hdf5.hpp"
#include "sim/trace/hdf5_scales.hpp"
#include "sim/trace/stored_text.hpp"
#include "sim/trace/trace_index.hpp"
#include "tests/sim/trace/sample_trace.hpp"
#include "tests/support/random.hpp"

using namespace glassbowl::sim;
using namespace glassbowl::sim::test;
using Catch::Contains;

// Traces as other programs may have rewritten them: compressed, converted, in other pieces; or with parts
// that lead out of the file.

namespace {

namespace fs = std::filesystem;

constexpr std::size_t rows = 3000, cycles = 30;

/// How a column of the rewritten trace is stored.
struct Storage {
  const char* name;
  hid_t type;
  std::function<void(hid_t creation)> shape;
  hsize_t bytes_before = 0;  ///< of another program, at the file's beginning
};

void in_pieces(hid_t creation) {
  const hsize_t piece = 17;
  H5Pset_chunk(creation, 1, &piece);
}

void compressed(hid_t creation) {
  in_pieces(creation);
  H5Pset_deflate(creation, 4);
}

void in_one(hid_t creation) {
  H5Pset_layout(creation, H5D_CONTIGUOUS);
}

void in_its_header(hid_t creation) {
  H5Pset_layout(creation, H5D_COMPACT);
}

Hdf5Handle put_column(hid_t file, const Storage& storage, const std::string& name,
                      const std::vector<double>& values) {
  const hsize_t length = values.size();
  const Hdf5Handle space(H5Screate_simple(1, &length, nullptr)), creation(H5Pcreate(H5P_DATASET_CREATE));
  storage.shape(creation);
  Hdf5Handle dataset(H5Dcreate2(file, name.c_str(), storage.type, space, H5P_DEFAULT, creation, H5P_DEFAULT));
  hdf5_check(H5Dwrite(dataset, H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL, H5P_DEFAULT, values.data()));
  write_text(dataset, "units", "Pa");
  return dataset;
}

void put_case(hid_t file) {
  const std::string text = sample_header().case_resolved;
  const Hdf5Handle type(H5Tcopy(H5T_C_S1)), space(H5Screate(H5S_SCALAR));
  H5Tset_size(type, text.size() + 1);
  const Hdf5Handle dataset(
      H5Dcreate2(file, "case_resolved", type, space, H5P_DEFAULT, H5P_DEFAULT, H5P_DEFAULT));
  hdf5_check(H5Dwrite(dataset, type, H5S_ALL, H5S_ALL, H5P_DEFAULT, text.c_str()));
}

std::vector<double> ramp(std::size_t length) {
  std::vector<double> values(length);
  for (std::size_t i = 0; i < length; ++i) values[i] = static_cast<double>(i);
  return values;
}

/// `time` with a column along it, `cycle` with none: the least that is a trace.
void write_rewritten(const fs::path& path, const Storage& storage, std::size_t length) {
  const Hdf5Session session;
  const Hdf5Handle before(H5Pcreate(H5P_FILE_CREATE));
  H5Pset_userblock(before, storage.bytes_before);
  const Hdf5Handle file(H5Fcreate(path.c_str(), H5F_ACC_TRUNC, before, H5P_DEFAULT));
  std::vector<Hdf5Handle> along_time, along_cycle;
  along_time.push_back(put_column(file, storage, "time", ramp(length)));
  along_time.push_back(put_column(file, storage, "manifold_pressure", ramp(length)));
  along_cycle.push_back(put_column(file, storage, "cycle", ramp(cycles)));
  for (const auto* list : {&along_time, &along_cycle}) {
    hdf5_check(H5DSset_scale(list->front(), list == &along_time ? "time" : "cycle"));
    attach_to_first(*list);
  }
  put_case(file);
}

std::string error_of(const fs::path& path) {
  try {
    TraceReader reader(path);
  } catch (const Error& error) {
    CHECK(error.kind() == ErrorKind::file);
    return error.what();
  }
  return {};
}

}  // namespace

TEST_CASE("trace: one that another program has stored in its own way reads the same", "[sim][trace][exact]") {
  const Storage storage = GENERATE(
      Storage{"in pieces", H5T_IEEE_F64LE, in_pieces}, Storage{"narrow", H5T_IEEE_F32LE, in_pieces},
      Storage{"compressed", H5T_IEEE_F64LE, compressed}, Storage{"in one", H5T_IEEE_F32LE, in_one},
      Storage{"high byte first", H5T_IEEE_F64BE, in_pieces}, Storage{"whole numbers", H5T_STD_I32LE, in_one},
      Storage{"in its header", H5T_IEEE_F64LE, in_its_header},
      Storage{"behind other bytes", H5T_IEEE_F64LE, in_pieces, 512},
      Storage{"in one behind other bytes", H5T_IEEE_F64LE, in_one, 512});
  CAPTURE(storage.name);
  const ScratchFolder folder;
  write_rewritten(folder / "other.h5", storage, rows);
  const TraceReader reader(folder / "other.h5");
  REQUIRE(reader.rows() == rows);
  REQUIRE(reader.cycles() == cycles);
  CHECK(reader.case_resolved() == sample_header().case_resolved);
  CHECK(reader.read("manifold_pressure") == ramp(rows));
  CHECK(reader.read("time", 650, 100).front() == 650.0);
  CHECK(reader.read("time", 650, 100).back() == 749.0);
  CHECK(reader.channel("manifold_pressure").unit == "Pa");
}

TEST_CASE("trace: what leads into another file is not followed", "[sim][trace][anomaly]") {
  const ScratchFolder folder;
  const fs::path other = folder / "other.h5", stranger = folder / "stranger.h5",
                 outside = folder / "rows.bin";
  const Storage plain{"in pieces", H5T_IEEE_F64LE, in_pieces};
  write_rewritten(other, plain, rows);
  for (const std::string name : {"time", "case_resolved"}) {
    CAPTURE(name);
    write_rewritten(stranger, plain, rows);
    {
      const Hdf5Session session;
      const Hdf5Handle file(H5Fopen(stranger.c_str(), H5F_ACC_RDWR, H5P_DEFAULT));
      hdf5_check(H5Ldelete(file, name.c_str(), H5P_DEFAULT));
      hdf5_check(H5Lcreate_external(other.c_str(), ("/" + name).c_str(), file, name.c_str(), H5P_DEFAULT,
                                    H5P_DEFAULT));
    }
    CHECK_THAT(error_of(stranger), Contains("stranger.h5: ") && Contains("it has no") && Contains(name));
  }
  for (const hid_t type : {H5T_IEEE_F64LE, H5T_STD_I8LE}) {
    const Storage kept_outside{"outside", type, [&](hid_t creation) {
                                 in_one(creation);
                                 H5Pset_external(creation, outside.c_str(), 0, H5F_UNLIMITED);
                               }};
    write_rewritten(stranger, kept_outside, rows);
    CHECK_THAT(error_of(stranger), Contains("stranger.h5: ") && Contains("lies in another file"));
  }
}

TEST_CASE("trace: a virtual dataset is refused before the file that it names is opened",
          "[sim][trace][anomaly]") {
  const ScratchFolder folder;
  const fs::path stranger = folder / "stranger.h5", pipe = folder / "pipe.h5";
  REQUIRE(::mkfifo(pipe.c_str(), 0600) == 0);  // whoever opens it waits
  const Storage plain{"in pieces", H5T_IEEE_F64LE, in_pieces};
  for (const std::string name : {"time", "cycle", "case_resolved", "another"}) {
    CAPTURE(name);
    write_rewritten(stranger, plain, rows);
    {
      const Hdf5Session session;
      const Hdf5Handle file(H5Fopen(stranger.c_str(), H5F_ACC_RDWR, H5P_DEFAULT));
      if (name != "another") hdf5_check(H5Ldelete(file, name.c_str(), H5P_DEFAULT));
      const hsize_t length = 10, endless = H5S_UNLIMITED, begin = 0, one = 1;
      const Hdf5Handle here(H5Screate_simple(1, &length, &endless)),
          there(H5Screate_simple(1, &length, &endless)), creation(H5Pcreate(H5P_DATASET_CREATE));
      for (const hid_t space : {hid_t{here}, hid_t{there}})
        hdf5_check(H5Sselect_hyperslab(space, H5S_SELECT_SET, &begin, nullptr, &endless, &one));
      hdf5_check(H5Pset_virtual(creation, here, pipe.c_str(), "/rows", there));
      const Hdf5Handle dataset(
          H5Dcreate2(file, name.c_str(), H5T_IEEE_F64LE, here, H5P_DEFAULT, creation, H5P_DEFAULT));
      if (name != "case_resolved") hdf5_check(H5DSset_scale(dataset, name.c_str()));
    }
    const auto begin = std::chrono::steady_clock::now();
    CHECK_THAT(error_of(stranger), Contains("stranger.h5: ") && Contains("lies in another file"));
    CHECK(std::chrono::steady_clock::now() - begin < std::chrono::seconds(10));
  }
}

TEST_CASE("trace: one that would unpack to far more than its size is refused at once",
          "[sim][trace][anomaly]") {
  const ScratchFolder folder;
  const fs::path bomb = folder / "bomb.h5";
  const auto fill = [&](std::size_t columns, hsize_t length, hsize_t chunk) {
    write_rewritten(bomb, {"in pieces", H5T_IEEE_F64LE, in_pieces}, rows);
    const Hdf5Session session;
    const Hdf5Handle file(H5Fopen(bomb.c_str(), H5F_ACC_RDWR, H5P_DEFAULT)),
        creation(H5Pcreate(H5P_DATASET_CREATE)), space(H5Screate_simple(1, &length, nullptr));
    hdf5_check(H5Pset_chunk(creation, 1, &chunk));
    hdf5_check(H5Pset_deflate(creation, 1));
    for (std::size_t i = 0; i < columns; ++i) {
      const Hdf5Handle dataset(H5Dcreate2(file, fmt::format("c{}", i).c_str(), H5T_IEEE_F64LE, space,
                                          H5P_DEFAULT, creation, H5P_DEFAULT));
      const Hdf5Handle time(H5Dopen2(file, "time", H5P_DEFAULT));
      hdf5_check(H5DSattach_scale(dataset, time, 0));
    }
  };
  // Chunks as long as the column: each row would unpack all of it.
  fill(1, 20'000'000, 20'000'000);
  CHECK_THAT(error_of(bomb), Contains("bomb.h5: ") && Contains("too large to be unpacked"));
  // Many columns that take no room at all: 100 of 4 million rows are 3.2 GB.
  fill(100, 4'000'000, 1'000'000);
  CHECK(fs::file_size(bomb) < 1 << 20);
  CHECK_THAT(error_of(bomb), Contains("bomb.h5: ") && Contains("would unpack to more than"));
  // Some that come to less are read.
  fill(4, 4'000'000, 1'000'000);
  const TraceReader reader(bomb);
  CHECK(reader.rows() == rows);
  CHECK(reader.read("c3", 0, 10) == std::vector<double>(10, 0.0));
}

TEST_CASE("trace: a compressed column is unpacked once, however often rows are read", "[sim][trace][limit]") {
  const ScratchFolder folder;
  write_rewritten(folder / "other.h5", {"compressed", H5T_IEEE_F64LE, compressed}, rows);
  const TraceReader reader(folder / "other.h5");
  CHECK(reader.read("manifold_pressure", 5, 1).front() == 5.0);
  const auto children = [] {
    rusage used{};
    ::getrusage(RUSAGE_CHILDREN, &used);
    return used.ru_minflt;  // each child takes some pages of its own
  };
  const long before = children();
  for (std::size_t row = 0; row < rows; row += 10)
    CHECK(reader.read("manifold_pressure", row, 1).front() == static_cast<double>(row));
  CHECK(children() == before);
}

TEST_CASE("trace: a pipe in its place is refused, not waited for", "[sim][trace][anomaly]") {
  const ScratchFolder folder;
  REQUIRE(::mkfifo((folder / "pipe.h5").c_str(), 0600) == 0);
  CHECK_THAT(error_of(folder / "pipe.h5"), Contains("is a FIFO (named pipe), not a trace"));
}

TEST_CASE("trace: what is handed from the child comes back whole, or is refused", "[sim][trace][exact]") {
  TraceIndex index;
  index.title = "Ø";
  index.case_resolved = std::string("a\0b", 3);
  index.summary = {{"mean_lambda", -0.0}};
  index.time = {{"time", "s", "", "run", true}, Dimension::time, 5, true, 2, {64, TraceIndex::nowhere, 128}};
  index.cycle = {{"cycle", "1", "", "run", true}, Dimension::cycle, 0, true, 1, {}};
  index.channels = {{{"flow", "kg s-1", "fuel", "main_circuit", false}, Dimension::time, 5, false, 1, {}}};
  const std::string whole = pack(index);
  const TraceIndex back = unpack_trace_index(whole);
  CHECK(pack(back) == whole);
  CHECK(back.title == index.title);
  CHECK(back.time.addresses == index.time.addresses);
  CHECK(back.channels.front().channel.unit == "kg s-1");

  // As a child would hand over that was led astray by what it read.
  CHECK_THROWS_AS(unpack_trace_index(whole + "x"), std::length_error);
  for (std::size_t length = 0; length < whole.size(); ++length)
    CHECK_THROWS_AS(unpack_trace_index(whole.substr(0, length)), std::length_error);
  glassbowl::tests::Random random(4);
  int refused = 0;
  for (int i = 0; i < 20000; ++i) {
    std::string damaged = whole;
    for (int bytes = 1 + i % 4; bytes > 0; --bytes)
      damaged[static_cast<std::size_t>(random.between(0.0, static_cast<double>(whole.size())))] =
          static_cast<char>(random.between(-128.0, 128.0));
    try {
      const TraceIndex any = unpack_trace_index(damaged);
      for (const auto* column : {&any.time, &any.cycle})
        if (column->plain && column->length > 0)
          REQUIRE((column->length - 1) / column->chunk_rows < column->addresses.size());
    } catch (const std::length_error&) {
      ++refused;
    }
  }
  CHECK(refused > 0);
}
