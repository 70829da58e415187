#include "pictures/figure_data.h"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "files/stored_scene.h"
#include "pictures/page_data.h"
#include "words/export_csv.h"

namespace catoptra {

std::string figures_json(const StoredFile& file, const std::string& format) {
  using Json = nlohmann::json;
  Json around_m = Json::object();
  if (!is_schedule(file)) {
    for (const Component& component : scene_of(file).components) {
      const double radius_m = radius_at_m(component.surface, 0);
      if (component.role == Role::receiver && radius_m > 0) around_m[component.name] = radius_m;
    }
  }
  const auto text = [](const Json& json) { return json.dump(-1, ' ', false, Json::error_handler_t::replace); };
  // file_json() is an object's text already.
  return fmt::format(R"({{"format":{},"around_m":{},"data":{}}})", text(format), text(around_m), file_json(file));
}

}  // namespace catoptra
