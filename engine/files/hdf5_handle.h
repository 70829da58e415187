#pragma once
// Owned HDF5 identifiers and the library's own words, for the files of this room that see HDF5.
#include <hdf5.h>
#include <string>
#include <utility>

namespace catoptra::hdf5 {

/// HDF5's own words for what went wrong last: those of the innermost call.
inline std::string library_words() {
  std::string words = "HDF5 gives no reason";
  const auto keep = [](unsigned n, const H5E_error2_t* error, void* out) -> herr_t {
    if (n == 0 && error->desc) *static_cast<std::string*>(out) = error->desc;
    return 0;
  };
  H5Ewalk2(H5E_DEFAULT, H5E_WALK_UPWARD, keep, &words);
  return words;
}

/// Owns one HDF5 identifier, or a negative one that some call returned for a failure.
class Handle {
 public:
  Handle(hid_t id, herr_t (*close)(hid_t)) : id_(id), close_(close) {}
  Handle(Handle&& other) noexcept : id_(std::exchange(other.id_, -1)), close_(other.close_) {}
  Handle& operator=(Handle&&) = delete;
  ~Handle() {
    if (id_ >= 0) close_(id_);
  }
  operator hid_t() const { return id_; }

 private:
  hid_t id_;
  herr_t (*close_)(hid_t);
};

}  // namespace catoptra::hdf5
