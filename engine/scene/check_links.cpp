// Names, limits and roles: all that can be said before anything is placed.
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <optional>
#include <unordered_map>

#include "geometry/area.h"
#include "geometry/entrance.h"
#include "geometry/scaled.h"
#include "scene/check.h"
#include "scene/roles.h"
#include "scene/steered_pose.h"
#include "scene/words.h"

namespace catoptra {
namespace {

class LinkChecker {
 public:
  LinkChecker(const std::vector<Draft>& drafts, Scene& scene, Problems& problems)
      : drafts_(drafts), scene_(scene), problems_(problems) {
    for (std::size_t i = 0; i < drafts.size(); ++i) {
      const std::string& name = drafts[i].component.name;
      if (name.empty()) continue;
      names_.push_back(name);
      place_by_name_.emplace(name, i);  // the first of that name
    }
    resolve_carriers();
  }

  void operator()() {
    for (std::size_t i = 0; i < drafts_.size(); ++i) {
      const Draft& draft = drafts_[i];
      if (draft.shape_sound) {
        check_entry(draft);
        check_aperture(i);
      }
      check_finish(draft);
      if (draft.mount_sound) check_jitter(draft);
      const auto* steered = std::get_if<SteeredMount>(&draft.component.mount);
      if (steered != nullptr && draft.mount_sound) check_pose(draft, *steered);
      if (draft.aim) find(*draft.aim, draft.at_aim(), fmt::format("aim of {}", draft.what));
      if (draft.primary) find(*draft.primary, draft.at("mount.primary"), fmt::format("primary of {}", draft.what));
      if (draft.by) check_carried(i);
      check_number(i);
    }
  }

 private:
  /// None for the empty name, which drafts bear whose own was refused.
  std::optional<std::size_t> place_of_name(const std::string& name) const {
    const auto at = place_by_name_.find(name);
    if (at == place_by_name_.end()) return std::nullopt;
    return at->second;
  }

  /// Follows every chain of carriers to its end, each link once.
  void resolve_carriers() {
    enum : char { fresh, on_this_walk, done };
    std::vector<char> state(drafts_.size(), fresh);
    ends_.assign(drafts_.size(), {});
    std::vector<std::size_t> walk;
    for (std::size_t first = 0; first < drafts_.size(); ++first) {
      walk.clear();
      std::optional<std::size_t> at = first;
      while (at && state[*at] == fresh) {
        state[*at] = on_this_walk;
        walk.push_back(*at);
        if (!drafts_[*at].by) break;
        at = place_of_name(*drafts_[*at].by);  // where there is none: said when the carrier itself is checked
      }
      ChainEnd end;
      if (at && drafts_[*at].by) {
        if (state[*at] == on_this_walk)
          end.is_circle = true;
        else
          end = ends_[*at];
      } else {
        end.component = at;
      }
      for (const std::size_t link : walk) {
        ends_[link] = end;
        state[link] = done;
      }
    }
  }

  std::optional<std::size_t> find(const std::string& name, Place place, const std::string& what) {
    if (const auto at = place_of_name(name)) return at;
    problems_.error(place, fmt::format("no component is called '{}', the {}", shortened(name), what),
                    problems_.is_full() ? std::vector<std::string>() : word_notes(name, names_));
    return std::nullopt;
  }

  /// What a primary takes in is counted through its aperture. The wall of a tube or a ball, or a cone that looks down,
  /// has none, and light would fall on it that no aperture let in.
  void check_entry(const Draft& draft) {
    const Component& c = draft.component;
    const bool has_opening = entrance_of(c.surface).has_value();
    if (has_opening && (c.role == Role::receiver || c.role == Role::cover)) {
      problems_.error(draft.at("shape"), fmt::format("{} can't be a {}", draft.what, c.shape_kind),
                      {"allowed: a primary, secondary or obstacle; the absorber at its exit is a flat receiver, a pane "
                       "over its entrance a flat cover"});
    }
    if (c.role != Role::primary || aperture_area_m2(c.surface, c.outline) > 0) return;
    problems_.error(draft.at("shape"), fmt::format("{} has no aperture that faces along its axis", draft.what),
                    {fmt::format("found: a {}", c.shape_kind),
                     "allowed: a shape with an aperture, a disc, or a cone that shows its front to +z, inside where it "
                     "opens upward or outside where it narrows",
                     "the sun's power on a primary is counted through its aperture, its outline seen along its axis"});
  }

  void check_aperture(std::size_t i) {
    const Draft& draft = drafts_[i];
    const double scale = least_scale(draft.component.surface, draft.component.outline);
    // A whole hemisphere or half a tube is sampled evenly over itself; other conics are not, near where they are steep.
    const bool circular = std::visit(
        []<Surface S>(const S& s) {
          if constexpr (AboveOutline<S>) return s.is_sampled_to_equator();
          return false;
        },
        draft.component.surface);
    if (circular && scale > 1 - 1e-15 && scale <= 1 + 1e-12) {
      // A hair larger, so that rounding leaves the rim on it.
      scene_.components[i].surface = *scaled(draft.component.surface, scale * (1 + 4e-15));
      return;
    }
    if (scale < 1) return;
    const bool trough = std::holds_alternative<Trough>(draft.component.surface);
    const double wanted_m = extent_m(draft.component.surface, draft.component.outline), limit_m = wanted_m / scale;
    problems_.error(draft.at("aperture"), fmt::format("'aperture' of {} is larger than its surface", draft.what),
                    {fmt::format("found: it reaches {:.6g} m from the {}", wanted_m, trough ? "middle" : "axis"),
                     fmt::format("allowed: {} {:.6g} m, where the {} turns back under itself",
                                 circular ? "up to" : "less than", limit_m, draft.component.shape_kind)});
  }

  /// Covers are of glass, and nothing else is.
  void check_glass(const Draft& draft) {
    const bool is_cover = draft.component.role == Role::cover;
    const auto check = [&](int finish, const std::optional<std::string>& name, Place place, std::string_view key) {
      if (!name || (finish < 0 && name != "dark")) return;  // none, or no such finish: said already
      const bool glass = finish >= 0 && pane_of(scene_.finishes[static_cast<std::size_t>(finish)].finish).has_value();
      if (glass == is_cover) return;
      problems_.error(
          place,
          is_cover ? fmt::format("{} is not of glass", draft.what)
                   : fmt::format("'{}' of {} is glass", key, draft.what),
          {fmt::format("found: '{}'", *name),
           is_cover ? "allowed: a finish of kind glass or sellmeier_glass; what stops light is an [[obstacle]]"
                    : "allowed: a mirror, an absorber or dark; panes and tubes of glass are [[cover]]"});
    };
    check(draft.component.front_finish, draft.finish, draft.at("finish"), "finish");
    check(draft.component.back_finish, draft.back, draft.at("back"), "back");
  }

  void check_finish(const Draft& draft) {
    check_glass(draft);
    const int front = draft.component.front_finish;
    if (front < 0 && draft.finish != "dark") return;  // no such finish, or none: said already
    if (front >= 0 && pane_of(scene_.finishes[static_cast<std::size_t>(front)].finish)) return;
    const bool mirror =
        front >= 0 && std::holds_alternative<Mirror>(scene_.finishes[static_cast<std::size_t>(front)].finish);
    const Role role = draft.component.role;
    if ((role == Role::primary || role == Role::secondary) && !mirror) {
      problems_.warning(draft.at("finish"), fmt::format("{} is no mirror: its finish reflects no image", draft.what));
    }
    if (role == Role::receiver && mirror) {
      problems_.warning(draft.at("finish"), fmt::format("{} is a mirror: it sends most of its light away", draft.what));
    }
  }

  /// Jitter is averaged over rays, as a turn of the mirror that reflects them.
  void check_jitter(const Draft& draft) {
    const Role role = draft.component.role;
    const PerAxis jitter_rad = tracking_jitter(draft.component.mount);
    if (jitter_rad.is_zero() || role == Role::primary || role == Role::secondary) return;
    problems_.warning(
        draft.at("mount.jitter_mrad"),
        fmt::format("the jitter of {} has no effect: only what mirrors reflect is jittered", draft.what),
        {"allowed: bias_mrad for a steady error; mount = { kind = \"carried\", by = ... } for what moves with "
         "a collector and its jitter"});
  }

  void check_pose(const Draft& draft, const SteeredMount& mount) {
    // A limit that is met to the last digit is met.
    const auto beyond = [](double offset_m, double travel_m) {
      return std::fabs(offset_m) > travel_m * (1 + 1e-12) + 1e-12;
    };
    const Vec &o = mount.offset_m, &t = mount.travel_m;
    if (beyond(o.x, t.x) || beyond(o.y, t.y) || beyond(o.z, t.z)) {
      problems_.error(draft.at("mount.pose"), fmt::format("the pose of {} is beyond its travel", draft.what),
                      {fmt::format("found: offset_m = [{:.6g}, {:.6g}, {:.6g}]", o.x, o.y, o.z),
                       fmt::format("allowed: travel_m = [{:.6g}, {:.6g}, {:.6g}] either way", t.x, t.y, t.z)});
    }
    const Vec2 tilt = tilt_rad(mount);
    if (share_of_tilt(mount, tilt) > 1) {
      const PerAxis& limit = mount.tilt_rad;
      const double degree = units::degree_rad;
      const std::string allowed = limit.x == limit.y
                                      ? fmt::format("{:.6g}", limit.x / degree)
                                      : fmt::format("[{:.6g}, {:.6g}]", limit.x / degree, limit.y / degree);
      problems_.error(
          draft.at("mount.pose"), fmt::format("the pose of {} is beyond its tilt", draft.what),
          {fmt::format("found: its axis leans {:.4g} degrees from home_axis", std::hypot(tilt.x, tilt.y) / degree),
           fmt::format("allowed: tilt_deg = {} at most", allowed)});
    }
  }

  void check_carried(std::size_t i) {
    const Draft& draft = drafts_[i];
    if (draft.has("array")) {
      problems_.error(draft.at("array"), fmt::format("{} is carried and can't have an array of its own", draft.what),
                      {"allowed: an array of the carrier, which every carried component follows copy for copy"});
    }
    if (!find(*draft.by, draft.at("mount.by"), fmt::format("carrier of {}", draft.what))) return;
    const ChainEnd& end = ends_[i];
    if (end.is_circle)
      say_circle(i);
    else if (end.component)
      scene_.components[i].carrier_mounts = drafts_[*end.component].component.array.size();
  }

  void check_number(std::size_t i) {
    const Component& c = scene_.components[i];
    if (c.copies() <= most_copies) return;
    const bool facets = c.facets.size() > 1;
    problems_.error(drafts_[i].at(facets ? "facets" : "array"),
                    fmt::format("{} has too many {}", drafts_[i].what, facets ? "facets" : "copies"),
                    {facets ? fmt::format("found: {} in each of {} copies", c.facets.size(), c.mounts())
                            : fmt::format("found: {}", c.mounts()),
                     fmt::format("allowed: {} in all", most_copies)});
  }

  void say_circle(std::size_t i) {
    constexpr std::size_t most_shown = 12;
    std::string text = "found: ";
    std::vector<std::size_t> chain;
    std::size_t at = i;
    while (chain.size() < most_shown && std::ranges::find(chain, at) == chain.end()) {
      chain.push_back(at);
      text += fmt::format("'{}' is carried by ", shortened(drafts_[at].component.name));
      at = *place_of_name(*drafts_[at].by);
    }
    text += fmt::format("'{}'", shortened(drafts_[at].component.name));
    if (std::ranges::find(chain, at) == chain.end()) text += ", and so on";
    problems_.error(drafts_[i].at("mount.by"), fmt::format("{} is carried in a circle", drafts_[i].what),
                    {std::move(text)});
  }

  const std::vector<Draft>& drafts_;
  Scene& scene_;
  Problems& problems_;
  std::vector<std::string_view> names_;
  std::unordered_map<std::string_view, std::size_t> place_by_name_;
  /// Where the chain of carriers that begins with a component ends: at one that nothing carries, or nowhere.
  struct ChainEnd {
    std::optional<std::size_t> component;
    bool is_circle = false;
  };
  std::vector<ChainEnd> ends_;
};

}  // namespace

void check_roles(const std::vector<Draft>& drafts, Problems& problems) {
  const auto has = [&](Role role) {
    return std::ranges::any_of(drafts, [&](const Draft& d) { return d.component.role == role; });
  };
  if (has(Role::primary) && !has(Role::receiver))
    problems.warning({1, 1, 1}, "the scene has no [[receiver]]: all light that its mirrors reflect is lost");
}

void check_names_and_limits(const std::vector<Draft>& drafts, Scene& scene, Problems& problems) {
  LinkChecker(drafts, scene, problems)();
}

}  // namespace catoptra
