#include "sim/trace/hdf5_scales.hpp"

#include <array>
#include <optional>

#include "sim/trace/stored_text.hpp"

namespace glassbowl::sim {
namespace {

struct BackReference {
  hobj_ref_t dataset;
  int dimension = 0, padding = 0;  // without a name the padding would be any bytes
};

hobj_ref_t reference_to(hid_t dataset) {
  hobj_ref_t reference{};
  hdf5_check(H5Rcreate(&reference, dataset, ".", H5R_OBJECT, -1));
  return reference;
}

}  // namespace

bool is_scale(hid_t object) {
  return text_attribute(object, "CLASS") == "DIMENSION_SCALE";
}

std::string scale_along(hid_t dataset, std::size_t dimension) {
  if (H5Aexists(dataset, "DIMENSION_LIST") <= 0) return {};
  const Hdf5Handle list(H5Aopen(dataset, "DIMENSION_LIST", H5P_DEFAULT));
  const Hdf5Handle stored(H5Aget_type(list));
  const Hdf5Handle space(H5Aget_space(list));
  if (H5Tget_class(stored) != H5T_VLEN) return {};
  const Hdf5Handle element(H5Tget_super(stored));
  const hssize_t entries = H5Sget_simple_extent_npoints(space);
  std::array<hvl_t, H5S_MAX_RANK> scales{};
  if (H5Tget_class(element) != H5T_REFERENCE || entries <= static_cast<hssize_t>(dimension) ||
      entries > static_cast<hssize_t>(scales.size()))
    return {};
  const Hdf5Handle type(H5Tvlen_create(H5T_STD_REF_OBJ));
  hdf5_check(H5Aread(list, type, scales.data()));
  std::optional<hobj_ref_t> first;
  if (const hvl_t& found = scales[dimension]; found.len > 0) first = *static_cast<const hobj_ref_t*>(found.p);
  hdf5_check(H5Dvlen_reclaim(type, space, H5P_DEFAULT, scales.data()));
  if (!first) return {};
  return text_attribute(Hdf5Handle(H5Rdereference2(dataset, H5P_DEFAULT, H5R_OBJECT, &*first)), "NAME");
}

void attach_to_first(const std::vector<Hdf5Handle>& datasets) {
  const hsize_t one = 1;
  const hsize_t others = datasets.size() - 1;
  if (others == 0) return;
  const Hdf5Handle list_type(H5Tvlen_create(H5T_STD_REF_OBJ));
  const Hdf5Handle list_space(H5Screate_simple(1, &one, nullptr));
  hobj_ref_t scale = reference_to(datasets.front());
  const hvl_t scales{1, &scale};
  std::vector<BackReference> references;
  for (std::size_t i = 1; i < datasets.size(); ++i) {
    const Hdf5Handle list(
        H5Acreate2(datasets[i], "DIMENSION_LIST", list_type, list_space, H5P_DEFAULT, H5P_DEFAULT));
    hdf5_check(H5Awrite(list, list_type, &scales));
    references.push_back({reference_to(datasets[i])});
  }
  const Hdf5Handle type(H5Tcreate(H5T_COMPOUND, sizeof(BackReference)));
  hdf5_check(H5Tinsert(type, "dataset", HOFFSET(BackReference, dataset), H5T_STD_REF_OBJ));
  hdf5_check(H5Tinsert(type, "dimension", HOFFSET(BackReference, dimension), H5T_NATIVE_INT));
  const Hdf5Handle space(H5Screate_simple(1, &others, nullptr));
  const Hdf5Handle list(
      H5Acreate2(datasets.front(), "REFERENCE_LIST", type, space, H5P_DEFAULT, H5P_DEFAULT));
  hdf5_check(H5Awrite(list, type, references.data()));
}

}  // namespace glassbowl::sim
