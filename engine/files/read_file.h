#pragma once
// Result files read back, whatever they hold: every dataset with its axes, units and attributes.
#include <cstdint>
#include <filesystem>
#include <map>
#include <stdexcept>
#include <string>
#include <string_view>
#include <unordered_map>
#include <variant>
#include <vector>

#include "numeric/statistics.h"

namespace catoptra {

/// Numbers and words as the file holds them; integers of less than 64 bits are widened.
using StoredValues =
    std::variant<std::vector<double>, std::vector<std::int64_t>, std::vector<std::uint64_t>, std::vector<std::string>>;

struct StoredAttribute {
  bool scalar = true;
  StoredValues values;
};
using StoredAttributes = std::map<std::string, StoredAttribute, std::less<>>;
/// A text among them; empty where there is none.
std::string text_of(const StoredAttributes& attributes, std::string_view name);

struct StoredSet {
  std::string path;                // "/budget/power_W"
  std::vector<std::size_t> shape;  // none: a scalar
  std::vector<std::string> over;   // path of each axis's dimension scale; empty where it has none
  bool scale = false;              // is itself such a scale
  StoredValues values;             // the last axis fastest
  StoredAttributes attributes;     // without those by which HDF5 knows scales
};

class StoredFile {
 public:
  std::string path;  // as typed
  StoredAttributes attributes;
  bool has_checksum = false;  // that was looked at, and fits

  void add(StoredSet set);
  /// In the order that they were written.
  const std::vector<StoredSet>& sets() const { return sets_; }
  /// None: null.
  const StoredSet* find(const std::string& set) const;
  /// The values of the dataset at `set`; null where there is none, or one of another type.
  template <class T>
  const std::vector<T>* values(const std::string& set) const {
    const StoredSet* found = find(set);
    return found ? std::get_if<std::vector<T>>(&found->values) : nullptr;
  }
  /// A number of the dataset at `set`, NaN where there is none.
  double number(const std::string& set, std::size_t place = 0) const;
  /// The standard errors of the numbers at `set`: the dataset beside it that it names in its attribute
  /// ancillary_variables, or, in files of schema 1, its attribute standard_error. Null where it has none.
  const std::vector<double>* errors(const std::string& set) const;
  /// A number with its standard error: 0 where it has none, NaN where there is no number.
  Estimate estimate(const std::string& set, std::size_t place = 0) const;
  /// Of the root; empty where there is none.
  std::string text(std::string_view attribute) const { return text_of(attributes, attribute); }

 private:
  std::vector<StoredSet> sets_;
  std::unordered_map<std::string, std::size_t> places_;
};

/// What was given is no result that this program reads; the message says why, and what would be.
struct NotAResult : std::runtime_error {
  using std::runtime_error::runtime_error;
};

/// Reads the whole file, after its checksum (files/file_check.h) where it has one; first in a process apart, so that
/// a file on which the HDF5 library crashes is an error like any other. Throws NotAResult where there is no such file,
/// where it is no HDF5, no result of ours or one of a newer schema, and std::runtime_error with the path where it is
/// damaged. Takes time in proportion to the file.
StoredFile read_result(const std::string& path);

/// The same without its checksum looked at and in this process, which the library may end: for a caller that is there
/// to be ended.
StoredFile read_result_here(const std::string& path);

}  // namespace catoptra
