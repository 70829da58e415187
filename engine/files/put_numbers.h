#pragma once
// Lists of output numbers into HDF5 files and JSON.
#include <nlohmann/json.hpp>
#include <vector>

#include "files/estimate_json.h"
#include "files/put_common.h"
#include "trace/numbers.h"

namespace catoptra {

/// Into `group`, which ends with a slash: the numbers of one instant.
template <class T>
void put_numbers(Hdf5File& file, const std::string& group, const auto& numbers, const T& from) {
  for (const Number<T>& number : numbers) {
    const Estimate estimate = number.at(from);
    if (number.has_error())
      put_estimate(file, group, number.name, number.suffix(), estimate, Units{number.unit}, number.meaning);
    else
      file.put(group + number.key(), estimate.value, Units{number.unit}, LongName{number.meaning});
  }
}

/// The same by row of a schedule; what no sun changes, once.
template <class T>
void put_numbers(Hdf5File& file, const std::string& group, const auto& numbers, const std::vector<T>& rows,
                 const Scales& over_rows) {
  for (const Number<T>& number : numbers) {
    const Units units{number.unit};
    std::vector<Estimate> estimates;
    std::vector<double> values;
    for (const T& row : rows) {
      estimates.push_back(number.at(row));
      values.push_back(estimates.back().value);
    }
    if (!number.by_sun)
      file.put(group + number.key(), values.front(), units, LongName{number.meaning});
    else if (number.has_error())
      put_with_errors(file, group, number.name, number.suffix(), estimates, over_rows, units, number.meaning);
    else
      file.put(group + number.key(), values, over_rows, units, LongName{number.meaning});
  }
}

/// Under the same names: an object for each number with an error, else the number. `all` false: those alone that differ
/// from sun to sun.
template <class T>
void add_numbers(nlohmann::ordered_json& to, const auto& numbers, const T& from, bool all = true) {
  for (const Number<T>& number : numbers) {
    if (!all && !number.by_sun) continue;
    const Estimate estimate = number.at(from);
    if (number.has_error())
      to[number.key()] = json_of(estimate);
    else
      to[number.key()] = estimate.value;
  }
}

}  // namespace catoptra
