#pragma once
// What a surface must have. No verb has a default that a new surface could take without a word: one that lacks a verb
// stops the compiler, where AnySurface is defined (geometry/surface.h).
#include <concepts>
#include <optional>
#include <string>
#include <variant>

#include "geometry/bend.h"
#include "geometry/entry_point.h"
#include "geometry/frame.h"
#include "geometry/outline.h"
#include "geometry/ray.h"

namespace catoptra {

/// A quadric: the terms whose roots are the distances at which the unbounded surface is met, and whether a point of it
/// belongs to the part that is the surface.
template <class S>
concept MetByQuadratic = requires(const S& s, const Vec& v) {
  { s.quadratic(v, v) } -> std::same_as<Quadratic<double>>;
  { s.on_sheet(v) } -> std::same_as<bool>;
};

/// The same, where the distances themselves are simpler to write; see roots_along().
template <class S>
concept MetAtRoots = requires(const S& s, const Vec& v) {
  { s.roots(v, v, true) } -> std::same_as<Roots<double>>;
  { s.on_sheet(v) } -> std::same_as<bool>;
};

/// One that may be met more than twice: distance to the first hit ahead of p, whatever the outline; infinity where
/// there is none. As hit_distance_m(), which asks again from a hit outside the outline.
template <class S>
concept FindsOwnHits = requires(const S& s, const Vec& v) {
  { s.first_hit_m(v, v, true) } -> std::same_as<double>;
};

/// A height over each point of an outline.
///   sag(x, y)                 that height, along z
///   steepest_sine(outline)    of the steepest slope inside the outline, or a bound: the sine of its angle to the xy
///                             plane; NaN or infinity where the surface does not reach across
///   mean_curvature_per_m()    at the vertex; more than 0: concave
///   extent_m(outline)         how far the outline reaches from the axis, or from the plane of symmetry
///   least_scale(outline)      the smallest factor at which it reaches across; 0: it never turns back under itself
///   is_sampled_to_equator()   whether entry_point() samples it evenly up to where it turns back
///   bends()                   how its sections turn
template <class S>
concept AboveOutline = S::above_outline && requires(const S& s, double x, const AnyOutline& outline) {
  { s.sag(x, x) } -> std::same_as<double>;
  { s.steepest_sine(outline) } -> std::same_as<double>;
  { s.mean_curvature_per_m() } -> std::same_as<double>;
  { s.extent_m(outline) } -> std::same_as<double>;
  { s.least_scale(outline) } -> std::same_as<double>;
  { s.is_sampled_to_equator() } -> std::same_as<bool>;
  { s.bends() } -> std::same_as<Bends>;
};

/// For (u, v) in the unit square a point, even over the area; or an entry point, sampled unevenly.
template <class S>
concept SampledEvenly = requires(const S& s, double x) {
  { s.point(x, x) } -> std::same_as<Vec>;
};
template <class S>
concept SampledUnevenly = requires(const S& s, double x) {
  { s.entry(x, x) } -> std::same_as<EntryPoint<double>>;
};

/// One that ends where its own sizes say.
///   area_m2()           of its front
///   vector_area_m2()    integral of the unit normal over the front
///   lit_area_m2(v)      integral of max(0, n . v) over the front, where it is convex and so can't stand in its own
///                       light: v toward the light, any length; none for other fronts
template <class S>
concept Closed = !S::above_outline && (SampledEvenly<S> || SampledUnevenly<S>)&&requires(const S& s, const Vec& v) {
  { s.area_m2() } -> std::same_as<double>;
  { s.vector_area_m2() } -> std::same_as<Vec>;
  { s.lit_area_m2(v) } -> std::same_as<std::optional<double>>;
};

/// A closed one of revolution that holds a flux map, unrolled on azimuth and height. Others hold none, and have their
/// branch of Mesher (geometry/mesh.cpp).
///   top_m()                     the height of its upper end; the lower one is as far below
///   radius_at_m(z)              there
///   belt_m2(span, low, high)    area between two heights over a span of azimuth, rad
///   meridian()                  how its section turns along the axis
template <class S>
concept RoundBody = Closed<S> && requires(const S& s, double x) {
  { s.top_m() } -> std::same_as<double>;
  { s.radius_at_m(x) } -> std::same_as<double>;
  { s.belt_m2(x, x, x) } -> std::same_as<double>;
  { s.meridian() } -> std::same_as<Bend>;
};

/// Walls that light enters by an opening: on a primary samples start there, since light that falls straight through to
/// the exit belongs to its aperture as well. docs/theory/cpc.md.
template <class S>
concept HasEntrance = requires(const S& s) {
  { s.entrance() } -> std::same_as<AnyOutline>;
};

/// All have
///   normal(p)         unit, toward the front
///   box(outline)      bounds of the part inside an outline, a hair (1e-9) too large so that rounding stays inside
///   scaled(factor)    with all lengths `factor` times as long, about the origin, but for the rim; none for what
///                     gathers no light
///   words(outline)    what `check` says of it: "concave, radius of curvature 20 m"
/// and one way to be met. What the tracer calls is a template over the number, a double in a test, lanes in a bundle.
template <class S>
concept Surface = (AboveOutline<S> || Closed<S>)&&(MetByQuadratic<S> + MetAtRoots<S> + FindsOwnHits<S> == 1) &&
                  requires(const S& s, const Vec& v, double x, const AnyOutline& outline) {
  { s.normal(v) } -> std::same_as<Vec>;
  { s.box(outline) } -> std::same_as<Box>;
  { s.scaled(x) } -> std::same_as<std::optional<S>>;
  { s.words(outline) } -> std::same_as<std::string>;
};

/// Instantiated for a variant, it names the alternative and the verb that the alternative lacks.
template <Surface S>
struct IsSurface {};
template <class Variant>
struct AllSurfaces;
template <class... S>
struct AllSurfaces<std::variant<S...>> : IsSurface<S>... {};

}  // namespace catoptra
