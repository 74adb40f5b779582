#pragma once

#include <cstddef>
#include <functional>
#include <string>
#include <string_view>

#include "sim/trace/hdf5.hpp"

namespace glassbowl::sim {

bool is_scalar(hid_t space);

/// Text of fixed or variable length; empty for what is no text. `read` takes the type in memory, and where
/// to.
std::string text_of(hid_t stored_type, const std::function<herr_t(hid_t, void*)>& read);

/// Empty where there is no such attribute, or it is not one text.
std::string text_attribute(hid_t object, const char* name);

/// Fixed-length text attribute, as netCDF writes its own, with `room` for a longer text later.
void write_text(hid_t object, const char* name, std::string_view text, std::size_t room = 0);

}  // namespace glassbowl::sim
