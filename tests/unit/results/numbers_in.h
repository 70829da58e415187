#pragma once
// All numbers of a file under names that tell their places: an HDF5 file, a JSON text, a CSV table.
#include <catch2/catch.hpp>
#include <cmath>
#include <iterator>
#include <map>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>
#include <utility>
#include <vector>

#include "hdf5_walk.h"

namespace catoptra::test {

using NamedNumbers = std::map<std::string, double>;

inline std::string at(const std::string& name, std::size_t place) {
  return name + " #" + std::to_string(place);
}
inline void add(NamedNumbers& to, const std::string& name, const std::vector<double>& values) {
  for (std::size_t i = 0; i < values.size(); ++i) to[at(name, i)] = values[i];
}
inline void add(NamedNumbers& to, const std::string& name, double value) {
  to[at(name, 0)] = value;
}

inline bool is_number(hid_t type) {
  return H5Tget_class(type) == H5T_FLOAT || H5Tget_class(type) == H5T_INTEGER;
}

/// "/path #place" of datasets, "/path@attribute #place" of attributes; places count with the last axis fastest.
inline NamedNumbers numbers_in_hdf5(const std::filesystem::path& path) {
  NamedNumbers out;
  const hid_t file = H5Fopen(path.c_str(), H5F_ACC_RDONLY, H5P_DEFAULT);
  std::vector<std::string> objects{"/"};
  for (const auto& [name, found] : walk(path).datasets) objects.push_back(name);
  for (const std::string& name : objects) {
    const hid_t object = H5Oopen(file, name.c_str(), H5P_DEFAULT);
    const auto take = [&](const std::string& as, hid_t type, hid_t space, const auto& read) {
      std::vector<double> values(static_cast<std::size_t>(H5Sget_simple_extent_npoints(space)));
      if (is_number(type)) {
        read(values.data());
        add(out, as, values);
      }
      H5Sclose(space);
      H5Tclose(type);
    };
    if (H5Iget_type(object) == H5I_DATASET)
      take(name, H5Dget_type(object), H5Dget_space(object),
           [&](double* to) { H5Dread(object, H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL, H5P_DEFAULT, to); });
    for (const auto& [key, type] : attributes_of(object)) {
      const hid_t attribute = H5Aopen(object, key.c_str(), H5P_DEFAULT);
      take(name + "@" + key, H5Aget_type(attribute), H5Aget_space(attribute),
           [&](double* to) { H5Aread(attribute, H5T_NATIVE_DOUBLE, to); });
      H5Aclose(attribute);
    }
    H5Oclose(object);
  }
  H5Fclose(file);
  return out;
}

/// By JSON pointers: "/budget/absorbed/power_W".
inline NamedNumbers numbers_in_json(const std::string& text) {
  NamedNumbers out;
  const auto flat = nlohmann::json::parse(text).flatten();
  for (const auto& [pointer, value] : flat.items())
    if (value.is_number()) out[pointer] = value.get<double>();
  return out;
}

/// "column #row"; words are left out.
inline NamedNumbers numbers_in_csv(const std::string& text) {
  NamedNumbers out;
  std::istringstream lines(text);
  std::vector<std::string> names;
  std::string line;
  for (std::size_t row = 0; std::getline(lines, line); ++row) {
    std::istringstream cells(line);
    std::string cell;
    for (std::size_t column = 0; std::getline(cells, cell, ','); ++column) {
      if (row == 0) {
        names.push_back(cell);
        continue;
      }
      char* end = nullptr;
      const double value = std::strtod(cell.c_str(), &end);
      if (end == cell.c_str() + cell.size() && !cell.empty()) out[at(names.at(column), row - 1)] = value;
    }
  }
  return out;
}

/// What is missing, stands at another's place, or was not asked for. A change of unit may round the last digits.
inline std::vector<std::string> differences(const NamedNumbers& expected, const NamedNumbers& found) {
  std::vector<std::string> out;
  for (const auto& [name, value] : expected) {
    const auto there = found.find(name);
    if (there == found.end()) {
      out.push_back("missing: " + name);
    } else if (!(std::fabs(there->second - value) <= 4e-15 * std::fabs(value))) {
      out.push_back(name + " is " + std::to_string(there->second) + ", should be " + std::to_string(value));
    }
  }
  for (const auto& [name, value] : found)
    if (!expected.contains(name)) out.push_back("not asked for: " + name + " = " + std::to_string(value));
  return out;
}

inline void check_same_numbers(const NamedNumbers& expected, const NamedNumbers& found) {
  REQUIRE(expected.size() > 20);
  CHECK(differences(expected, found) == std::vector<std::string>{});
  // Two numbers that change their places are seen.
  NamedNumbers mixed = found;
  std::swap(mixed.begin()->second, std::prev(mixed.end())->second);
  CHECK(differences(expected, mixed).size() == 2);
}

}  // namespace catoptra::test
