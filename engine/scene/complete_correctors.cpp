#include "scene/complete_correctors.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <stdexcept>

#include "geometry/scaled.h"
#include "scene/words.h"

namespace catoptra {
namespace {

constexpr double sun_edge_rad = 4.65e-3;  // common practice, no source: half of the sun's mean width

class Completer {
 public:
  Completer(std::vector<Draft>& drafts, Problems& problems) : drafts_(drafts), problems_(problems) {
    for (const auto& draft : drafts) {
      if (draft.component.role == Role::primary && !draft.component.name.empty()) {
        names_.push_back(draft.component.name);
      }
    }
  }

  void operator()() {
    for (Draft& draft : drafts_) {
      if (!draft.corrector) continue;
      const std::size_t errors_before = problems_.error_count();
      std::visit([&](const auto& shape) { complete(draft, shape); }, *draft.corrector);
      draft.shape_sound = draft.shape_sound && problems_.error_count() == errors_before;
    }
  }

 private:
  template <class Shape>
  void complete(Draft& draft, const Shape& shape) {
    const Role role = draft.component.role;
    if (role == Role::primary || role == Role::receiver || role == Role::cover) {
      problems_.error(draft.at("shape"), fmt::format("{} can't be a {}", draft.what, Shape::kind),
                      {"allowed: in [[secondary]] and [[obstacle]]"});
      return;
    }
    const Draft* primary = find(shape.primary, draft);
    if (primary == nullptr || !primary->shape_sound) {
      draft.shape_sound = false;
      return;
    }
    const auto design = shape.design(primary->component.surface);
    if (!design) {
      problems_.error(
          draft.at("shape.primary"), fmt::format("a {} can't complete '{}'", Shape::kind, shape.primary),
          {fmt::format("found: a {}", primary->component.shape_kind), fmt::format("allowed: {}", Shape::primaries)});
      return;
    }
    if (const auto fault = fault_of(*design)) {
      say(*fault, *design, draft, shape);
      return;
    }
    try {
      auto solved = shape.solved(*design);
      draft.component.surface = std::move(solved.surface);
      draft.component.outline = std::move(solved.outline);
      warn_of_tight_rim(draft, shape, *design, primary->component);
    } catch (const std::range_error& fault) {
      problems_.error(draft.at("shape.through_m"),
                      fmt::format("the shape of {} can't be solved: {}", draft.what, fault.what()),
                      {"allowed: a vertex farther from focus_m and from the primary's own focus, or another beam"});
    }
  }

  /// A corrector ends where its beam's outermost rays come, and the sun's width goes past that. One that serves a part
  /// of a wider primary gets as much from beside its beam as it loses. docs/theory/correctors.md, "The rim".
  template <class Shape>
  void warn_of_tight_rim(const Draft& draft, const Shape& shape, CorrectorDesign design, const Component& primary) {
    const double reach_m = extent_m(primary.surface, primary.outline);
    const CorrectorPoint rim = corrector_point(design, reach_m);
    const auto away = static_cast<double>(rim.to / std::fabs(1 - rim.to / rim.meridional));
    const double needed_m = reach_m + sun_edge_rad * away;
    if (design.half_beam_m < 0.98 * reach_m || design.half_beam_m >= needed_m) return;
    std::vector<std::string> notes{fmt::format("found: {} = {}; '{}' is {:.6g} m wide", Shape::beam_key,
                                               number_text(shape.beam_m), shape.primary, 2 * reach_m)};
    design.half_beam_m = needed_m;
    if (!fault_of(design)) {
      notes.push_back(
          fmt::format("{} = {:.7g} catches light from the sun's edge, {} mrad from its centre; mirror errors "
                      "need more",
                      Shape::beam_key, std::ceil(2 * needed_m * 1000) / 1000, sun_edge_rad * 1000));
    }
    problems_.warning(
        draft.at(fmt::format("shape.{}", Shape::beam_key)),
        fmt::format("{} ends where rays from the middle of the sun end: some light passes its rim", draft.what),
        std::move(notes));
  }

  const Draft* find(const std::string& name, const Draft& draft) {
    const auto at = std::ranges::find_if(
        drafts_, [&](const Draft& d) { return d.component.role == Role::primary && d.component.name == name; });
    if (at != drafts_.end()) return &*at;
    problems_.error(draft.at("shape.primary"),
                    fmt::format("no primary is called '{}', which {} is to complete", shortened(name), draft.what),
                    problems_.is_full() ? std::vector<std::string>() : word_notes(name, names_));
    return nullptr;
  }

  template <class Shape>
  void say(const DesignFault& fault, const CorrectorDesign& design, const Draft& draft, const Shape& shape) {
    using Kind = DesignFault::Kind;
    const double own_focus_m = 0.5 / design.curvature_per_m;
    switch (fault.kind) {
      case Kind::not_concave:
        problems_.error(draft.at("shape.primary"),
                        fmt::format("'{}' spreads light, and {} can't gather it", shape.primary, draft.what),
                        {"found: a convex primary", "allowed: a concave one, its radius or focal length more than 0"});
        break;
      case Kind::beam_too_wide:
        problems_.error(draft.at(fmt::format("shape.{}", Shape::beam_key)),
                        fmt::format("the beam of {} is wider than its primary can be", draft.what),
                        {fmt::format("found: {} = {}", Shape::beam_key, number_text(shape.beam_m)),
                         fmt::format("allowed: less than {:.6g}, where '{}' turns back under itself",
                                     2 * *fault.limit_m, shape.primary)});
        break;
      case Kind::upside_down:
        problems_.error(draft.at("shape.through_m"),
                        fmt::format("the vertex of {} does not lie above its focus", draft.what),
                        {fmt::format("found: through_m = {}, focus_m = {}", number_text(shape.through_m),
                                     number_text(shape.focus_m)),
                         "allowed: through_m more than focus_m, as light on the axis is sent straight back"});
        break;
      case Kind::at_paraxial_focus:
        problems_.error(draft.at("shape.through_m"),
                        fmt::format("the vertex of {} lies in the primary's own focus", draft.what),
                        {fmt::format("allowed: through_m less or more than {:.6g}", own_focus_m)});
        break;
      case Kind::folds: {
        std::vector<std::string> notes{fmt::format(
            "found: {} = {}, through_m = {}, focus_m = {}; the primary's own focus lies at {:.6g}", Shape::beam_key,
            number_text(shape.beam_m), number_text(shape.through_m), number_text(shape.focus_m), own_focus_m)};
        if (fault.limit_m)
          notes.push_back(fmt::format("allowed: {} up to about {:.4g}", Shape::beam_key, 2 * *fault.limit_m));
        if (fault.through_limit_m) {
          notes.push_back(fmt::format("allowed: through_m of about {:.4g} or {}", *fault.through_limit_m,
                                      design.is_beyond() ? "more" : "less"));
        }
        problems_.error(draft.at("shape.through_m"),
                        fmt::format("{} would fold back on itself: rays cross before they reach it", draft.what),
                        std::move(notes));
        break;
      }
    }
  }

  std::vector<Draft>& drafts_;
  Problems& problems_;
  std::vector<std::string_view> names_;
};

}  // namespace

void complete_correctors(std::vector<Draft>& drafts, Problems& problems) {
  Completer(drafts, problems)();
}

}  // namespace catoptra
