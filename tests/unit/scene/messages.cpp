// What a person sees for a mistake in a scene, word for word.
#include <catch2/catch.hpp>

#include "small_scene.h"

namespace catoptra {
namespace {

TEST_CASE("keys: unknown, missing, misspelt, with the wrong unit", "[scene][messages]") {
  check({
      {"reflectance = 0.94", "reflectance = 0.94\nslope_eror_mrad = 2.0",
       R"(s.toml:8:1: error: unknown key 'slope_eror_mrad' in finish 'silver'
    8 | slope_eror_mrad = 2.0
      | ^^^^^^^^^^^^^^^
  allowed: kind, reflectance, slope_error_mrad, specularity_error_mrad
  did you mean 'slope_error_mrad'?
)"},
      // A misspelt key that is needed is one mistake, not two.
      {"radius_m = 20", "radius = 20",
       R"(s.toml:13:28: error: unknown key 'radius' in shape of primary 'bowl'
   13 | shape = { kind = "sphere", radius = 20 }
      |                            ^^^^^^
  allowed: kind, radius_m
  did you mean 'radius_m'?
)"},
      {"diameter_m = 20", "diameter_mm = 20000",
       R"(s.toml:14:31: error: unknown key 'diameter_mm' in aperture of primary 'bowl'
   14 | aperture = { kind = "circle", diameter_mm = 20000 }
      |                               ^^^^^^^^^^^
  allowed: kind, diameter_m, center_m
  did you mean 'diameter_m'?
)"},
      {", radius_m = 20", "",
       R"(s.toml:13:9: error: missing key 'radius_m' in shape of primary 'bowl'
   13 | shape = { kind = "sphere" }
      |         ^^^^^^^^^^^^^^^^^^^
  allowed: a number from -1000000 to 1000000, not 0, in m
)"},
      {"[[receiver]]", "[[reciever]]",
       R"(s.toml:17:3: error: unknown key 'reciever' in the scene
   17 | [[reciever]]
      |   ^^^^^^^^
  allowed: schema, title, site, sun, finish, primary, secondary, receiver, obstacle, cover
  did you mean 'receiver'?
)"},
      {"kind = \"sphere\"", "kind = \"spheer\"",
       R"(s.toml:13:18: error: unknown kind in shape of primary 'bowl': text "spheer"
   13 | shape = { kind = "spheer", radius_m = 20 }
      |                  ^^^^^^^^
  allowed: )" +
           all_shapes() + R"(
  did you mean 'sphere'?
)"},
      {"kind = \"mirror\"\n", "",
       R"(s.toml:5:1: error: missing key 'kind' in finish 'silver'
    5 | [finish.silver]
      | ^^^^^^^^^^^^^^^
  allowed: mirror, absorber, dark, glass, sellmeier_glass
)"},
  });
}

TEST_CASE("values: wrong type, out of range, not finite", "[scene][messages]") {
  check({
      {"radius_m = 20", "radius_m = \"20 m\"",
       R"(s.toml:13:39: error: wrong type for 'radius_m' in shape of primary 'bowl'
   13 | shape = { kind = "sphere", radius_m = "20 m" }
      |                                       ^^^^^^
  found: text "20 m"
  allowed: a number from -1000000 to 1000000, not 0, in m
  a number stands without quotes; its unit is part of the key's name
)"},
      {"radius_m = 20", "radius_m = 0",
       R"(s.toml:13:39: error: 'radius_m' in shape of primary 'bowl' is out of range
   13 | shape = { kind = "sphere", radius_m = 0 }
      |                                       ^
  found: number 0
  allowed: a number from -1000000 to 1000000, not 0, in m
)"},
      {"diameter_m = 20", "diameter_m = -20",
       R"(s.toml:14:44: error: 'diameter_m' in aperture of primary 'bowl' is out of range
   14 | aperture = { kind = "circle", diameter_m = -20 }
      |                                            ^^^
  found: number -20
  allowed: a number from 1e-06 to 1000000, in m
)"},
      {"diameter_m = 20", "diameter_m = 0",
       R"(s.toml:14:44: error: 'diameter_m' in aperture of primary 'bowl' is out of range
   14 | aperture = { kind = "circle", diameter_m = 0 }
      |                                            ^
  found: number 0
  allowed: a number from 1e-06 to 1000000, in m
)"},
      {"position_m = [0, 0, 10]", "position_m = [-inf, 0, 10]",
       R"(s.toml:21:41: error: 'position_m' in mount of receiver 'can' is out of range
   21 | mount = { kind = "fixed", position_m = [-inf, 0, 10] }
      |                                         ^^^^
)"
       "  found: number -inf\n  allowed: three numbers [x, y, z], each from -1000000 to 1000000, in m\n"},
      {"elevation_deg = 60", "elevation_deg = nan",
       R"(s.toml:4:17: error: 'elevation_deg' in [sun] is out of range
    4 | elevation_deg = nan
      |                 ^^^
  found: number nan
  allowed: a number from -90 to 90, in degree
)"},
      {"length_m = 2", "length_m = true",
       R"(s.toml:19:57: error: wrong type for 'length_m' in shape of receiver 'can'
   19 | shape = { kind = "cylinder", radius_m = 0.5, length_m = true }
      |                                                         ^^^^
  found: true
  allowed: a number from 1e-06 to 1000000, in m
)"},
      {"finish = \"silver\"", "finish = [\"silver\"]",
       R"(s.toml:15:10: error: wrong type for 'finish' in primary 'bowl'
   15 | finish = ["silver"]
      |          ^^^^^^^^^^
  found: an array of 1 values
  allowed: a text in quotes
)"},
      {"{ kind = \"sphere\", radius_m = 20 }", "\"sphere\"",
       R"(s.toml:13:9: error: wrong type for 'shape' in primary 'bowl'
   13 | shape = "sphere"
      |         ^^^^^^^^
  found: text "sphere"
  allowed: { kind = "plane", ... }; kinds: )" +
           all_shapes() + R"(
)"},
      {"reflectance = 0.94", "reflectance = nan",
       R"(s.toml:7:15: error: 'reflectance' in finish 'silver' is out of range
    7 | reflectance = nan
      |               ^^^
  found: number nan
  allowed: a number from 0 to 1, or rows [[incidence angle in degrees, number from 0 to 1], ...], the angles rising from 0 to 90
)"},
      {"reflectance = 0.94", "reflectance = [[0, 0.9], [60, 0.8], [50, 0.7]]",
       R"(s.toml:7:37: error: 'reflectance' in finish 'silver' is out of range
    7 | reflectance = [[0, 0.9], [60, 0.8], [50, 0.7]]
      |                                     ^^^^^^^^^
  found: [50, 0.7]
  allowed: a number from 0 to 1, or rows [[incidence angle in degrees, number from 0 to 1], ...], the angles rising from 0 to 90
)"},
      {"position_m = [0, 0, 10]", "position_m = [0, 0, inf]",
       R"(s.toml:21:47: error: 'position_m' in mount of receiver 'can' is out of range
   21 | mount = { kind = "fixed", position_m = [0, 0, inf] }
      |                                               ^^^
)"
       "  found: number inf\n  allowed: three numbers [x, y, z], each from -1000000 to 1000000, in m\n"},
      {"position_m = [0, 0, 10]", "axis = [0, 0, 0]",
       R"(s.toml:21:34: error: 'axis' in mount of receiver 'can' is out of range
   21 | mount = { kind = "fixed", axis = [0, 0, 0] }
      |                                  ^^^^^^^^^
  found: [0, 0, 0]
  allowed: a direction [x, y, z] of any length but 0
)"},
      {"length_m = 2 }", "length_m = 2, front = \"outsid\" }",
       R"(s.toml:19:68: error: unknown word "outsid" for 'front' in shape of receiver 'can'
   19 | shape = { kind = "cylinder", radius_m = 0.5, length_m = 2, front = "outsid" }
      |                                                                    ^^^^^^^^
)"
       "  allowed: outside, inside\n  did you mean 'outside'?\n"},
      {"", "flux = { bins = [96, 5000] }\n",
       R"(s.toml:22:22: error: 'bins' in flux of receiver 'can' is out of range
   22 | flux = { bins = [96, 5000] }
      |                      ^^^^
  found: number 5000
  allowed: two whole numbers [n, m], each from 1 to 4096
)"},
      {"", "flux = { bins = [96, 60.5] }\n",
       R"(s.toml:22:17: error: wrong type for 'bins' in flux of receiver 'can'
   22 | flux = { bins = [96, 60.5] }
      |                 ^^^^^^^^^^
  found: [96, 60.5]
  allowed: two whole numbers [n, m], each from 1 to 4096
)"},
      {"schema = 1", "schema = 2",
       R"(s.toml:1:10: error: this schema is not known
    1 | schema = 2
      |          ^
  found: number 2
  allowed: 1
)"},
      {"[[primary]]", "[primary]",
       R"(s.toml:11:1: error: wrong type for 'primary' in the scene
   11 | [primary]
      | ^^^^^^^^^
  found: a table
  allowed: tables under [[primary]], in two brackets
)"},
  });
}

TEST_CASE("names: of finishes, components, carriers and aim points", "[scene][messages]") {
  check({
      {"finish = \"silver\"", "finish = \"sliver\"",
       R"(s.toml:15:10: error: no finish is called 'sliver', the 'finish' of primary 'bowl'
   15 | finish = "sliver"
      |          ^^^^^^^^
  allowed: black, silver, dark
  did you mean 'silver'?
)"},
      {"finish = \"black\"\n", "",
       R"(s.toml:17:1: error: missing key 'finish' in receiver 'can'
   17 | [[receiver]]
      | ^^^^^^^^^^^^
  allowed: a text in quotes
)"},
      {"name = \"can\"", "name = \"bowl\"",
       R"(s.toml:18:8: error: a second component is called 'bowl'
   18 | name = "bowl"
      |        ^^^^^^
  the first is the primary of line 12
)"},
      {"name = \"can\"", "name = \"can\"\nname = \"tin\"",
       R"(s.toml:19:1: error: 'name' is already set above
   19 | name = "tin"
      | ^^^^^
  allowed: each key once in a table
  the rest of the file was not read; fix this first
)"},
      {"[finish.silver]", "[finish.black]",
       R"(s.toml:8:1: error: 'finish.black' is already used above
    8 | [finish.black]
      | ^^^^^^^^^^^^^^
  allowed: [NAME] once; [[NAME]], in two brackets, for each of several components
  the rest of the file was not read; fix this first
)"},
      {"name = \"can\"", "name = \"tin/can\"",
       R"(s.toml:18:8: error: 'name' in receiver 1 can't be used
   18 | name = "tin/can"
      |        ^^^^^^^^^
  allowed: 1 to 60 characters; not . or .., no slash, no quote, no control characters
)"},
      {"{ kind = \"fixed\", position_m = [0, 0, 10] }", "{ kind = \"carried\", by = \"bowel\" }",
       R"(s.toml:21:34: error: no component is called 'bowel', the carrier of receiver 'can'
   21 | mount = { kind = "carried", by = "bowel" }
      |                                  ^^^^^^^
  allowed: bowl, can
  did you mean 'bowl'?
)"},
      {"{ kind = \"fixed\", position_m = [0, 0, 10] }", "{ kind = \"carried\", by = \"can\" }",
       R"(s.toml:21:34: error: receiver 'can' is carried in a circle
   21 | mount = { kind = "carried", by = "can" }
      |                                  ^^^^^
  found: 'can' is carried by 'can'
)"},
      {"{ kind = \"fixed\", position_m = [0, 0, 10] }",
       "{ kind = \"carried\", by = \"bowl\", position_m = [0, 0, 10] }\narray = { kind = \"ring\", count = 2, radius_m "
       "= 3 }",
       R"(s.toml:22:9: error: receiver 'can' is carried and can't have an array of its own
   22 | array = { kind = "ring", count = 2, radius_m = 3 }
      |         ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
  allowed: an array of the carrier, which every carried component follows copy for copy
)"},
      {"mount = { kind = \"fixed\" }", "mount = { kind = \"heliostat\", aim = \"cann\" }",
       R"(s.toml:16:37: error: no component is called 'cann', the aim of primary 'bowl'
   16 | mount = { kind = "heliostat", aim = "cann" }
      |                                     ^^^^^^
)"
       "  allowed: bowl, can\n  did you mean 'can'?\n"},
      {"mount = { kind = \"fixed\" }", "mount = { kind = \"heliostat\" }",
       R"(s.toml:16:9: error: neither 'aim' nor 'aim_m' in mount of primary 'bowl'
   16 | mount = { kind = "heliostat" }
      |         ^^^^^^^^^^^^^^^^^^^^^^
  allowed: one of them, aim = "a component's name" or aim_m = [x, y, z]
)"},
  });
}

TEST_CASE("shapes, apertures, poses and arrays that can't be", "[scene][messages]") {
  check({
      {"diameter_m = 20", "diameter_m = 42",
       R"(s.toml:14:12: error: 'aperture' of primary 'bowl' is larger than its surface
   14 | aperture = { kind = "circle", diameter_m = 42 }
      |            ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
  found: it reaches 21 m from the axis
  allowed: up to 20 m, where the sphere turns back under itself
)"},
      // x^2 + (1 + k) z^2 = 2 R z: the equator of R = 4, k = 3 lies R / sqrt(1 + k) = 2 m from the axis.
      {"{ kind = \"sphere\", radius_m = 20 }", "{ kind = \"conic\", radius_of_curvature_m = 4, conic_constant = 3 }",
       R"(s.toml:14:12: error: 'aperture' of primary 'bowl' is larger than its surface
   14 | aperture = { kind = "circle", diameter_m = 20 }
      |            ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
  found: it reaches 10 m from the axis
  allowed: less than 2 m, where the conic turns back under itself
)"},
      {"{ kind = \"circle\", diameter_m = 20 }", "{ kind = \"polygon\", points_m = [[0, 0], [2, 2], [2, 0], [0, 2]] }",
       R"(s.toml:14:12: error: edges 1 and 3 of the polygon touch or cross (edge 1 joins corners 1 and 2)
   14 | aperture = { kind = "polygon", points_m = [[0, 0], [2, 2], [2, 0], [0, 2]] }
      |            ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
)"},
      {"{ kind = \"circle\", diameter_m = 20 }", "{ kind = \"annulus\", outer_diameter_m = 3, inner_diameter_m = 4 }",
       R"(s.toml:14:12: error: inner_diameter_m must be less than outer_diameter_m
   14 | aperture = { kind = "annulus", outer_diameter_m = 3, inner_diameter_m = 4 }
      |            ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
)"},
      {"", "aperture = { kind = \"circle\", diameter_m = 1 }\n",
       R"(s.toml:22:12: error: 'aperture' in receiver 'can' has no meaning
   22 | aperture = { kind = "circle", diameter_m = 1 }
      |            ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
  a cylinder ends where its own sizes say
)"},
      {"shape = { kind = \"sphere\", radius_m = 20 }\naperture = { kind = \"circle\", diameter_m = 20 }",
       "shape = { kind = \"cylinder\", radius_m = 1, length_m = 9 }",
       R"(s.toml:13:9: error: primary 'bowl' has no aperture that faces along its axis
   13 | shape = { kind = "cylinder", radius_m = 1, length_m = 9 }
      |         ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
  found: a cylinder
)"
       "  allowed: a shape with an aperture, a disc, or a cone that shows its front to +z, inside where it opens "
       "upward or "
       "outside where it narrows\n"
       "  the sun's power on a primary is counted through its aperture, its outline seen along its axis\n"},
      {"mount = { kind = \"fixed\" }",
       "mount = { kind = \"steered\", home_m = [0, 0, 0], home_axis = [0, 0, 1], travel_m = [1, 1, 1], tilt_deg = 5, "
       "pose = { offset_m = [0, 2, 0] } }",
       "s.toml:16:115: error: the pose of primary 'bowl' is beyond its travel\n"
       "   16 | mount = { kind = \"steered\", home_m = [0, 0, 0], home_axis = [0, 0, 1], travel_m = [1, 1, 1], "
       "tilt_deg = 5, pose = { offset_m = [0, 2, 0] } }\n"
       "      | " +
           std::string(114, ' ') +
           "^^^^^^^^^^^^^^^^^^^^^^^^\n"
           "  found: offset_m = [0, 2, 0]\n  allowed: travel_m = [1, 1, 1] either way\n"},
      {"mount = { kind = \"fixed\" }",
       "mount = { kind = \"steered\", home_m = [0, 0, 0], home_axis = [0, 0, 1], tilt_deg = 5, "
       "pose = { axis = [0, 1, 1] } }",
       "s.toml:16:93: error: the pose of primary 'bowl' is beyond its tilt\n"
       "   16 | mount = { kind = \"steered\", home_m = [0, 0, 0], home_axis = [0, 0, 1], tilt_deg = 5, "
       "pose = { axis = [0, 1, 1] } }\n"
       "      | " +
           std::string(92, ' ') +
           "^^^^^^^^^^^^^^^^^^^^\n"
           "  found: its axis leans 45 degrees from home_axis\n  allowed: tilt_deg = 5 at most\n"},
      {"mount = { kind = \"fixed\" }",
       "mount = { kind = \"fixed\" }\narray = { kind = \"ring\", count = 3, radius_m = 50, from_azimuth_deg = 90, "
       "to_azimuth_deg = 0 }",
       R"(s.toml:17:92: error: to_azimuth_deg must be more than from_azimuth_deg, by 360 at most
   17 | array = { kind = "ring", count = 3, radius_m = 50, from_azimuth_deg = 90, to_azimuth_deg = 0 }
      |                                                                                            ^
)"},
      {"mount = { kind = \"fixed\" }", "mount = { kind = \"heliostat\", aim_m = [0, 0, 5] }",
       R"(s.toml:16:39: error: 'bowl' aims at a point 5 m from its own middle: it lies on the mirror
   16 | mount = { kind = "heliostat", aim_m = [0, 0, 5] }
      |                                       ^^^^^^^^^
)"},
      {"mount = { kind = \"fixed\" }",
       "mount = { kind = \"fixed\" }\narray = { kind = \"csv\", file = \"no-such.csv\" }",
       R"(s.toml:17:32: error: can't read no-such.csv: no such file
   17 | array = { kind = "csv", file = "no-such.csv" }
      |                                ^^^^^^^^^^^^^
  allowed: a file's path from the scene's folder
)"},
  });
}

}  // namespace
}  // namespace catoptra
