#include "pictures/page_data.h"

#include <bit>
#include <cmath>
#include <cstring>
#include <nlohmann/json.hpp>

#include "words/sun_means.h"

namespace catoptra {
namespace {

using Json = nlohmann::ordered_json;

constexpr std::size_t most_as_text = 64;
constexpr std::int64_t largest_exact = std::int64_t{1} << 53;  // of the whole numbers that a double holds

std::string base64(std::span<const unsigned char> bytes) {
  constexpr char digits[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string out;
  out.reserve((bytes.size() + 2) / 3 * 4);
  for (std::size_t i = 0; i < bytes.size(); i += 3) {
    const std::size_t left = std::min<std::size_t>(3, bytes.size() - i);
    std::uint32_t group = 0;
    for (std::size_t k = 0; k < 3; ++k) group = group << 8 | (k < left ? bytes[i + k] : 0u);
    for (std::size_t k = 0; k < 4; ++k) out += k <= left ? digits[group >> (18 - 6 * k) & 63] : '=';
  }
  return out;
}

Json json_of(const std::string& text) {
  return text;
}
Json json_of(double number) {
  return std::isfinite(number) ? Json(number) : Json(nullptr);
}
Json json_of(std::int64_t number) {
  return std::abs(number) <= largest_exact ? Json(number) : Json(std::to_string(number));
}
Json json_of(std::uint64_t number) {
  return number <= std::uint64_t{largest_exact} ? Json(number) : Json(std::to_string(number));
}

Json json_of(const StoredValues& stored, bool scalar) {
  return std::visit(
      [&](const auto& values) -> Json {
        using Value = typename std::decay_t<decltype(values)>::value_type;
        if (scalar) return values.empty() ? Json(nullptr) : json_of(values.front());
        if constexpr (std::is_same_v<Value, double>) {
          static_assert(std::endian::native == std::endian::little);
          if (values.size() > most_as_text) {
            const auto* bytes = reinterpret_cast<const unsigned char*>(values.data());
            return {{"f64", base64(std::span(bytes, values.size() * sizeof(double)))}};
          }
        }
        Json list = Json::array();
        for (const auto& value : values) list.push_back(json_of(value));
        return list;
      },
      stored);
}

std::string one_line(const Json& json) {
  return json.dump(-1, ' ', false, Json::error_handler_t::replace);
}

}  // namespace

std::string file_json(const StoredFile& file) {
  Json out;
  out["path"] = file.path;
  out["attributes"] = Json::object();
  for (const auto& [name, attribute] : file.attributes)
    out["attributes"][name] = json_of(attribute.values, attribute.scalar);
  out["sets"] = Json::object();
  for (const auto& set : file.sets()) {
    Json entry = Json::object();
    for (const auto& [name, attribute] : set.attributes) entry[name] = json_of(attribute.values, attribute.scalar);
    entry["shape"] = set.shape;
    entry["over"] = set.over;
    entry["scale"] = set.scale;
    entry["values"] = json_of(set.values, set.shape.empty());
    if (const auto means = means_over_suns(file, set); !means.empty()) {
      // The rule for means stands in words/sun_means.h alone. Pages and figures take its numbers.
      Json values = Json::array(), errors = Json::array();
      for (const Estimate& mean : means) {
        values.push_back(json_of(mean.value));
        errors.push_back(json_of(mean.standard_error));
      }
      entry["mean"] = std::move(values);
      entry["mean_error"] = std::move(errors);
    }
    out["sets"][set.path] = std::move(entry);
  }
  return one_line(out);
}

std::string page_json(const std::string& kind, const std::string& title, std::span<const PageFile> files) {
  std::string all = "{\"kind\":" + one_line(kind) + ",\"title\":" + one_line(title) + ",\"files\":[";
  for (std::size_t i = 0; i < files.size(); ++i) {
    if (i > 0) all += ",";
    all += "{\"data\":" + files[i].data + ",\"view\":" + files[i].view + ",\"rows\":" + files[i].rows + "}";
  }
  all += "]}";
  std::string out;
  out.reserve(all.size());
  for (const char c : all) {  // in JSON a "<" stands in texts alone
    if (c == '<')
      out += "\\u003c";
    else
      out += c;
  }
  return out;
}

}  // namespace catoptra
