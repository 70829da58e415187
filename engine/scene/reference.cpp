#include "scene/reference.h"

#include <fmt/format.h>
#include <string_view>
#include <utility>

#include "geometry/kinds/apertures.h"
#include "geometry/kinds/shapes.h"
#include "scene/array.h"
#include "scene/facets.h"
#include "scene/keys.h"
#include "scene/model.h"
#include "scene/read_sun.h"

namespace catoptra {
namespace {

std::string rows_of(const std::vector<KeyInfo>& keys) {
  std::string out = "| key | value | default | meaning |\n|---|---|---|---|\n";
  for (const auto& key : keys) {
    out += fmt::format("| `{}` | {} | {} | {} |\n", key.key, allowed_text(key), default_text(key), key.meaning);
  }
  return out;
}

template <class T, std::size_t N>
std::string table_of(const std::array<Field<T>, N>& fields) {
  std::vector<KeyInfo> keys;
  for (const auto& field : fields) keys.push_back(key_info(field));
  return keys.empty() ? "No keys beside `kind`.\n" : rows_of(keys);
}

template <class Variant>
void add_kinds(std::string_view group, std::vector<ReferenceTable>& out) {
  [&]<std::size_t... I>(std::index_sequence<I...>) {
    (out.push_back({fmt::format("{} {}", group, std::variant_alternative_t<I, Variant>::kind),
                    table_of(std::variant_alternative_t<I, Variant>::fields)}),
     ...);
  }
  (std::make_index_sequence<std::variant_size_v<Variant>>{});
}

}  // namespace

std::vector<ReferenceTable> reference_tables() {
  std::vector<ReferenceTable> out;
  out.push_back({"site", table_of(Site::fields)});
  out.push_back({"sun", table_of(SunKeys::fields)});
  add_kinds<AnySunshape>("sunshape", out);
  add_kinds<AnyFinish>("finish", out);
  add_kinds<AnyShape>("shape", out);
  add_kinds<AnyAperture>("aperture", out);
  add_kinds<AnyMount>("mount", out);
  out.push_back({"pose", table_of(SteeredMount::pose_fields)});
  add_kinds<AnyArray>("array", out);
  add_kinds<AnyFacets>("facets", out);
  out.push_back({"flux", table_of(Component::flux_fields)});
  out.push_back({"heat", table_of(HeatLoss::fields)});
  return out;
}

}  // namespace catoptra
