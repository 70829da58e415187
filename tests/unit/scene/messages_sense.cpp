// Warnings of what no one can mean, word for word, and that sound scenes draw none.
#include <catch2/catch.hpp>
#include <filesystem>

#include "small_scene.h"

namespace catoptra {
namespace {

TEST_CASE("units that were not meant are warned of", "[scene][messages]") {
  check({
      {"reflectance = 0.94", "reflectance = 0.94\nslope_error_mrad = 0.0015",
       R"(s.toml:8:20: warning: a slope error of 0.0015 mrad is smaller than any solar mirror's
    8 | slope_error_mrad = 0.0015
      |                    ^^^^^^
  0.0015 rad is slope_error_mrad = 1.5
)"},
      {"azimuth_deg = 180", "azimuth_deg = 180\ndni_W_m2 = 0.95",
       R"(s.toml:4:12: warning: a DNI of 0.95 W/m2 is almost no sun
    4 | dni_W_m2 = 0.95
      |            ^^^^
  0.95 kW/m2 is dni_W_m2 = 950
)"},
      {"azimuth_deg = 180", "azimuth_deg = 180\ndni_W_m2 = 9500",
       R"(s.toml:4:12: warning: a DNI of 9500 W/m2 is more than the sun sends
    4 | dni_W_m2 = 9500
      |            ^^^^
  above the air it is 1361 W/m2 on average; a clear sky lets some 900 to 1000 pass
)"},
      // A bowl in millimetres before a receiver in metres.
      {"radius_m = 20 }\naperture = { kind = \"circle\", diameter_m = 20 }\nfinish = \"silver\"\n"
       "mount = { kind = \"fixed\" }",
       "radius_m = 20000 }\naperture = { kind = \"circle\", diameter_m = 20000 }\nfinish = \"silver\"\n"
       "mount = { kind = \"fixed\" }",
       R"(s.toml:13:9: warning: primary 'bowl' is wider than 500 m
   13 | shape = { kind = "sphere", radius_m = 20000 }
      |         ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
  keys that end with _m hold metres: 14000 mm is 14
s.toml:19:9: warning: the primaries' aperture is 5e+07 times the receivers' area
   19 | shape = { kind = "cylinder", radius_m = 0.5, length_m = 2 }
      |         ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
  the sun's own size allows a concentration of 4.62e+04 at most: 1 / sin^2 of its half-angle
  keys that end with _m hold metres: 14000 mm is 14
)"},
  });
  // A perfect mirror and a slope error that some mirrors have are fine.
  CHECK(complaints(varied("reflectance = 0.94", "reflectance = 0.94\nslope_error_mrad = 0")).empty());
  CHECK(complaints(varied("reflectance = 0.94", "reflectance = 0.94\nslope_error_mrad = [0.1, 0.05]")).empty());
  CHECK(complaints(varied("azimuth_deg = 180", "azimuth_deg = 180\ndni_W_m2 = 1400")).empty());
}

TEST_CASE("the limit of concentration is the sunshape's own", "[scene][messages]") {
  // 100 pi m2 of bowl before a disc of 9 cm across: 49383 times its area, beyond 1 / sin^2(4.6505 mrad) = 46240.
  const std::string can =
      "shape = { kind = \"cylinder\", radius_m = 0.5, length_m = 2 }\nfinish = \"black\"\n"
      "mount = { kind = \"fixed\", position_m = [0, 0, 10] }";
  const auto disc = [&](const std::string& diameter_m, const std::string& sunshape) {
    std::string text = varied(can, "shape = { kind = \"disc\", diameter_m = " + diameter_m +
                                       " }\nfinish = \"black\"\n"
                                       "mount = { kind = \"fixed\", position_m = [0, 0, 10], axis = [0, 0, -1] }");
    text.insert(text.find("[finish.silver]"), "shape = " + sunshape + "\n");
    return complaints(text);
  };
  CHECK(disc("0.09", "{ kind = \"disc\" }").find("warning: the primaries' aperture is 4.94e+04 times") !=
        std::string::npos);
  CHECK(disc("0.1", "{ kind = \"disc\" }").empty());
  CHECK(disc("0.09", "{ kind = \"disc\", half_angle_mrad = 4 }").empty());
  CHECK(disc("0.09", "{ kind = \"point\" }").empty());
  CHECK(disc("0.09", "{ kind = \"gaussian\", sigma_mrad = 2.4 }").find("aperture is") != std::string::npos);
}

TEST_CASE("sides that are turned away are warned of", "[scene][messages]") {
  check({
      {"radius_m = 20", "radius_m = -20",
       R"(s.toml:13:9: warning: primary 'bowl' is convex: it spreads the light
   13 | shape = { kind = "sphere", radius_m = -20 }
      |         ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
  a concave mirror has a positive radius_m or focal_length_m
)"},
      {"mount = { kind = \"fixed\" }", "mount = { kind = \"fixed\", position_m = [0, 0, 21], axis = [0, 0, -1] }",
       R"(s.toml:16:9: warning: primary 'bowl' turns its back to the sun
   16 | mount = { kind = "fixed", position_m = [0, 0, 21], axis = [0, 0, -1] }
      |         ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
  the front is the side that the axis points to; a back without a finish is dark
)"},
      {"shape = { kind = \"cylinder\", radius_m = 0.5, length_m = 2 }", "shape = { kind = \"disc\", diameter_m = 1 }",
       R"(s.toml:21:9: warning: receiver 'can' faces away from every mirror
   21 | mount = { kind = "fixed", position_m = [0, 0, 10] }
      |         ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
  the front is the side that the axis points to; a back without a finish is dark
)"},
      {"[[receiver]]",
       "[[secondary]]\nname = \"pilot\"\nshape = { kind = \"plane\" }\n"
       "aperture = { kind = \"circle\", diameter_m = 1 }\nfinish = \"silver\"\n"
       "mount = { kind = \"fixed\", position_m = [3, 0, 9] }\n[[receiver]]",
       R"(s.toml:22:9: warning: secondary 'pilot' faces away from every mirror
   22 | mount = { kind = "fixed", position_m = [3, 0, 9] }
      |         ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
  the front is the side that the axis points to; a back without a finish is dark
)"},
  });
  // A receiver that is black on both sides may be turned as it likes.
  CHECK(complaints(varied("shape = { kind = \"cylinder\", radius_m = 0.5, length_m = 2 }\nfinish = \"black\"",
                          "shape = { kind = \"disc\", diameter_m = 1 }\nfinish = \"black\"\nback = \"black\""))
            .empty());
}

TEST_CASE("mounts and arrays that are half done are warned of", "[scene][messages]") {
  const std::string array = "array = { kind = \"grid\", count = [3, 2], spacing_m = [30, 30] }";
  check({
      {"mount = { kind = \"fixed\", position_m", "mount = { kind = \"steered\", home_axis = [0, 0, 1], home_m",
       R"(s.toml:21:9: warning: receiver 'can' is steered but can't move
   21 | mount = { kind = "steered", home_axis = [0, 0, 1], home_m = [0, 0, 10] }
      |         ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
  allowed: more than 0 in travel_m, tilt_deg or roll_limit_deg; kind = "fixed" for what stands still
)"},
      {"mount = { kind = \"fixed\" }", "mount = { kind = \"fixed\" }\n" + array,
       R"(s.toml:17:9: warning: primary 'bowl' has 6 copies, but the scene has only 1 receiver
   17 | array = { kind = "grid", count = [3, 2], spacing_m = [30, 30] }
      |         ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
  allowed: the same array for the receiver, or a receiver that the mirror carries
)"},
  });
  std::string both = varied("mount = { kind = \"fixed\" }", "mount = { kind = \"fixed\" }\n" + array);
  CHECK(complaints(both + array + "\n").empty());
  CHECK(complaints(varied("mount = { kind = \"fixed\" }", "mount = { kind = \"heliostat\", aim = \"can\" }\n" + array))
            .empty());
}

TEST_CASE("a missing table is one error", "[scene][messages]") {
  check({
      {"aperture = { kind = \"circle\", diameter_m = 20 }\n", "",
       R"(s.toml:11:1: error: missing key 'aperture' in primary 'bowl'
   11 | [[primary]]
      | ^^^^^^^^^^^
  allowed: { kind = "circle", ... }; kinds: circle, annulus, rectangle, regular_polygon, polygon, sector
)"},
      {"shape = { kind = \"cylinder\", radius_m = 0.5, length_m = 2 }\n", "",
       R"(s.toml:17:1: error: missing key 'shape' in receiver 'can'
   17 | [[receiver]]
      | ^^^^^^^^^^^^
  allowed: { kind = "plane", ... }; kinds: )" +
           all_shapes() + R"(
)"},
  });
}

TEST_CASE("words of the trade lead to the keys", "[scene][messages]") {
  check({
      {"reflectance = 0.94", "reflectivity = 0.94",
       R"(s.toml:7:1: error: unknown key 'reflectivity' in finish 'silver'
    7 | reflectivity = 0.94
      | ^^^^^^^^^^^^
  allowed: kind, reflectance, slope_error_mrad, specularity_error_mrad
  did you mean 'reflectance'?
)"},
      {"kind = \"sphere\"", "kind = \"hyperboloid\"",
       R"(s.toml:13:18: error: unknown kind in shape of primary 'bowl': text "hyperboloid"
   13 | shape = { kind = "hyperboloid", radius_m = 20 }
      |                  ^^^^^^^^^^^^^
  allowed: )" +
           all_shapes() + R"(
  did you mean 'conic'?
  a hyperboloid is a conic with conic_constant below -1
)"},
  });
}

}  // namespace
}  // namespace catoptra
