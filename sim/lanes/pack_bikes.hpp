#pragma once
#include <algorithm>
#include <array>
#include <stdexcept>
#include <tuple>
#include <type_traits>
#include <vector>

#include "sim/bike/bike.hpp"
#include "sim/lanes/struct_members.hpp"

/// Several bikes laid side by side as one bike of lanes, or one as a bike of another precision. They must
/// have the same parts; every size, setting and fault may differ.
namespace glassbowl::sim {

template <class T, std::size_t lanes>
using Each = std::array<const T*, lanes>;

template <class T>
struct is_vector : std::false_type {};
template <class T>
struct is_vector<std::vector<T>> : std::true_type {};

template <class Real, std::size_t lanes>
void pack(Real& out, const Each<double, lanes>& from) {
  for (std::size_t k = 0; k < lanes; ++k) out.set(k, *from[k]);
}

/// Points of a schedule; a shorter one repeats its last.
template <class Real, std::size_t lanes>
void pack(m::Schedule<Real>& out, const Each<m::Schedule<double>, lanes>& from) {
  std::size_t count = 0;
  for (const auto* s : from) count = std::max(count, s->points().size());
  typename m::Schedule<Real>::Points points(count);
  for (std::size_t k = 0; k < lanes; ++k)
    for (std::size_t i = 0; i < count; ++i) {
      const auto& own = from[k]->points();
      const auto& [x, y] = own[std::min(i, own.size() - 1)];
      points[i].first.set(k, x);
      points[i].second.set(k, y);
    }
  out = m::Schedule<Real>(std::move(points));
}

template <class Out, class In, std::size_t lanes>
void pack(Out& out, const Each<In, lanes>& from) {
  if constexpr (std::is_integral_v<Out> || std::is_enum_v<Out>) {
    for (const auto* one : from)
      if (*one != *from[0]) throw std::invalid_argument("bikes side by side must have the same parts");
    out = *from[0];
  } else if constexpr (is_vector<Out>::value) {
    out.resize(from[0]->size());
    for (const auto* one : from)
      if (one->size() != out.size())
        throw std::invalid_argument("bikes side by side must have the same parts");
    for (std::size_t i = 0; i < out.size(); ++i) {
      Each<typename In::value_type, lanes> element;
      for (std::size_t k = 0; k < lanes; ++k) element[k] = &(*from[k])[i];
      pack(out[i], element);
    }
  } else {
    const auto to = members(out);
    const auto own = [&](std::size_t k) { return members(*from[k]); };
    [&]<std::size_t... I>(std::index_sequence<I...>) {
      const auto one = [&]<std::size_t J>(std::integral_constant<std::size_t, J>) {
        using Member = std::remove_reference_t<std::tuple_element_t<J, decltype(own(0))>>;
        Each<std::remove_const_t<Member>, lanes> member;
        for (std::size_t k = 0; k < lanes; ++k) member[k] = &std::get<J>(own(k));
        pack(std::get<J>(to), member);
      };
      (one(std::integral_constant<std::size_t, I>{}), ...);
    }
    (std::make_index_sequence<std::tuple_size_v<decltype(to)>>{});
  }
}

template <class Real, std::size_t lanes>
Bike<Real> pack_bikes(const Each<Bike<double>, lanes>& bikes) {
  Bike<Real> out;
  pack(out, bikes);
  return out;
}

}  // namespace glassbowl::sim
