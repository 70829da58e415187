#pragma once
// Light meets a finish: what the finish is told, which random numbers it draws, and what it answers. The rules here
// hold for any finish; the finishes are in kinds/. Templates over the number, as geometry is: a test asks in doubles,
// the tracer in lanes, of one source.
#include <array>
#include <concepts>
#include <cstddef>
#include <cstdint>

#include "numeric/lanes.h"

namespace catoptra {

/// What pairs of random numbers at a contact are for. Each has dimensions of its own, which trace/uniforms.h gives out.
enum class Draw : std::uint8_t {
  slope,        // the normal's own error
  specularity,  // the ray's own scatter
  jitter,       // the mount's error; drawn by the tracer
  rest,         // the direction of light that a matt surface sends back
  way           // which way out of several
};

/// Two independent uniforms in (0, 1), where the finish has asked for them.
template <class Real>
struct DrawnPair {
  bool drawn = false;
  Real u{}, v{};
};

/// Light that comes onto a surface, in the component's own frame.
template <class Real>
struct Arrival {
  Vec3<Real> direction;      // unit, onto the surface
  Vec3<Real> normal;         // unit, of the side that is met: direction . normal < 0
  Vec3<Real> turned_normal;  // the same as the mount's error of this moment turns it; of any length
  Real cosine;               // of the incidence angle
  Real weight;
  bool from_front = true;  // the side that is met, of every lane
  bool round = false;      // slopes are meant round the axis and along it, and not along x and y
};

/// How a contact parts the weight: the two add to the arrival's.
template <class Real>
struct Shares {
  Real onward, kept;
};

/// The one way on of each lane. Light that goes through the surface is light whose direction points away from the
/// normal. A finish with several ways out chooses one with odds in proportion to their shares, by Draw::way: the mean
/// is the same as if it split, and a block never holds more rays than it began with.
template <class Real>
struct Departure {
  Vec3<Real> direction;  // unit, own frame
  Shares<Real> shares;
};

/// What finish F draws at a contact, in the order of its list `draws`.
template <class F, class Real>
using Drawn = std::array<DrawnPair<Real>, F::draws.size()>;

/// Lets nothing on. What stops there counts as blocked, whatever the component is for.
template <class F>
concept StopsAllLight = requires {
  requires F::stops_all_light;
};

/// Lists what it may draw, and says what of it this one, with its numbers, does draw.
template <class F>
concept DrawsNumbers = requires(const F& finish) {
  { finish.wants(Draw::slope) } -> std::same_as<bool>;
  { F::draws.size() } -> std::convertible_to<std::size_t>;
};

/// Parts the weight and directs what goes on, both at once.
template <class F>
concept SendsOn = DrawsNumbers<F> && requires(const F& finish, const Arrival<double>& in) {
  { finish.depart(in, Drawn<F, double>{}) } -> std::same_as<Departure<double>>;
};

/// Parts the weight first. Directions are worked out later, for the few rays that are followed further.
template <class F>
concept SendsLittleOn = DrawsNumbers<F> && requires(const F& finish, const Arrival<double>& in) {
  { finish.part(in) } -> std::same_as<Shares<double>>;
  { finish.direction(in, Drawn<F, double>{}) } -> std::same_as<Vec>;
};

/// Leaves the work to another object, made once a block from the numbers of the scene.
template <class F>
concept ActsThroughAnother = requires(const F& finish) {
  finish.acts_as();
};

/// Every finish says what it does to light.
template <class F>
concept ActsOnLight = StopsAllLight<F> || SendsOn<F> || SendsLittleOn<F> || ActsThroughAnother<F>;

}  // namespace catoptra
