#pragma once
// A scene made ready once, for many traces: where things stand and where the sun is may change between them, what
// things are may not.
#include <memory>

#include "scene/model.h"

namespace catoptra {

struct Plan;

/// How a scene stands: poses, sun and DNI.
struct Stand {
  Layout layout;
  double dni_W_m2 = 1000;
};

/// For the scene's own sun, its mounts as they are. Throws what place() throws.
Stand stand_of(const Scene& scene);

/// A plan, and what is kept beside it from trace to trace: searches, tallies, maps without light, what threads need in
/// hand. One trace at a time. Trees are built on the workers that the caller is inside of (trace/workers.h).
class PreparedScene {
 public:
  /// Needs `scene` no longer.
  PreparedScene(const Scene& scene, const Stand& stand);
  /// As stand_of(scene).
  explicit PreparedScene(const Scene& scene) : PreparedScene(scene, stand_of(scene)) {}
  /// For another thread; it costs a fraction of that.
  PreparedScene(const PreparedScene& other);
  PreparedScene& operator=(const PreparedScene&) = delete;
  PreparedScene(PreparedScene&&) noexcept;
  PreparedScene& operator=(PreparedScene&&) noexcept;
  ~PreparedScene();

  /// To another stand of the same scene: a copy of it with other poses, another sun or DNI. Traces are then, to the
  /// bit, those of that copy. Throws std::invalid_argument where other components or copies stand.
  void move(const Stand& stand);

  const Plan& plan() const;

  struct Parts;  // trace/prepared_parts.h
  Parts& parts() { return *parts_; }

 private:
  std::unique_ptr<Parts> parts_;
};

}  // namespace catoptra
