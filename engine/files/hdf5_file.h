#pragma once
// HDF5 as this project writes it. The only pair of files that sees the HDF5 library.
#include <cstdint>
#include <filesystem>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace catoptra {

/// A unit in UDUNITS spelling, as the CF conventions ask: "W m-2", "rad", "1" for ratios, counts and words.
struct Units {
  explicit constexpr Units(std::string_view words) : text(words) {}
  std::string_view text;
};

/// What a dataset means, in words for a plot's axis.
struct LongName {
  explicit constexpr LongName(std::string_view words) : text(words) {}
  std::string_view text;
};

/// Absolute paths of the dimension scales along a dataset's axes, slowest first. They give the shape.
using Scales = std::vector<std::string>;

/// Builds one file in memory; `save` puts it on the disk whole or not at all. No dataset comes without units and a
/// long name. Paths are absolute, "/budget/power_W"; groups are made where missing. Arrays carry Fletcher checksums,
/// integers are shuffled and deflated (doubles grow or stay as they are), no times are kept: the same calls give the
/// same bytes. A checksum stands behind the last byte (files/file_check.h). Text is UTF-8. Every failure throws
/// std::runtime_error with the object's path.
class Hdf5File {
 public:
  Hdf5File();
  ~Hdf5File();
  Hdf5File(const Hdf5File&) = delete;
  Hdf5File& operator=(const Hdf5File&) = delete;

  void put(const std::string& path, double value, Units units, LongName long_name);
  void put(const std::string& path, std::string_view text, Units units, LongName long_name);

  /// An array over dimension scales; throws where the values don't fill the shape.
  void put(const std::string& path, std::span<const double> values, const Scales& scales, Units, LongName);
  void put(const std::string& path, std::span<const std::int64_t> values, const Scales& scales, Units, LongName);
  void put(const std::string& path, std::span<const std::uint64_t> values, const Scales& scales, Units, LongName);
  void put(const std::string& path, std::span<const std::int8_t> values, const Scales& scales, Units, LongName);
  void put(const std::string& path, std::span<const std::string> values, const Scales& scales, Units, LongName);

  /// A dimension scale: the labels along an axis, for `put` to name.
  void put_scale(const std::string& path, std::span<const double> values, Units units, LongName long_name);
  void put_scale(const std::string& path, std::span<const std::int64_t> values, Units units, LongName long_name);
  void put_scale(const std::string& path, std::span<const std::string> values, Units units, LongName long_name);

  /// An attribute of a dataset or group that exists; "/" is the root.
  void describe(const std::string& path, const std::string& name, double value);
  void describe(const std::string& path, const std::string& name, std::int64_t value);
  void describe(const std::string& path, const std::string& name, std::uint64_t value);
  void describe(const std::string& path, const std::string& name, std::string_view text);
  void describe(const std::string& path, const std::string& name, std::span<const double> values);
  void describe(const std::string& path, const std::string& name, std::span<const std::int8_t> values);

  /// Writes what was put so far to `path` (see write_whole_file).
  void save(const std::filesystem::path& path) const;

 private:
  struct Inside;
  std::unique_ptr<Inside> inside_;
};

}  // namespace catoptra
