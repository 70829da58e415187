#pragma once
// A scene and a result put together by hand, with everything in it that a file may hold.
#include <cmath>

#include "files/provenance.h"
#include "scene/model.h"
#include "trace/result.h"

namespace catoptra::test {

inline Scene example_scene() {
  Scene scene;
  scene.title = "Dish on the plateau test field (invented) – Ω";
  scene.path = "scenes/dish.toml";
  scene.text = "schema = 1\ntitle = \"Dish\"\r\n# ends without a newline";
  Component absorber;
  absorber.name = "absorber";
  absorber.role = Role::receiver;
  absorber.heat = HeatLoss{0.9, 800, 300, 10};
  scene.components = {absorber};
  scene.pulled_in = {{"posts.csv", "x_m,y_m,z_m\n1,2,3\n"}, {"sun.csv", "0,1\n"}};
  return scene;
}

inline ReceiverResult example_receiver(const std::string& name) {
  ReceiverResult receiver;
  receiver.name = name;
  receiver.area_m2 = 0.25;
  receiver.intercept_factor = {0.95, 0.00123};
  receiver.arriving_power_W = {1000.5, 1.25};
  receiver.absorbed_power_W = {950.25, 1.5};
  receiver.direct_power_W = {3, 0.25};
  receiver.peak_concentration = {4321, 17};
  receiver.peak_at = {0.1, -0.05};
  receiver.mean_concentration = {4002, 5};
  receiver.flux.first = {"x_m", "m", "position along the receiver's x axis", {-0.2, 0, 0.2}};
  receiver.flux.second = {"y_m", "m", "position along the receiver's y axis", {-0.3, -0.1, 0.1, 0.3}};
  receiver.flux.flux_W_m2 = {1, 2, 3, 4, 5, std::nan("")};
  receiver.flux.standard_error_W_m2 = {.1, .2, .3, .4, .5, std::nan("")};
  receiver.flux.area_m2 = {.08, .08, .08, .08, .08, 0};
  receiver.enclosed = {"the power's centroid", {0.1, 0.2}, {0.75, 1}, {0.01, 0}};
  return receiver;
}

/// The budget adds to DNI x aperture area, 1000 W/m2 x 1.25 m2.
inline TraceResult example_result() {
  TraceResult result;
  result.seed = 18446744073709551615U;
  result.samples = 4096;
  result.replicates = 2;
  result.wall_time_s = 0.125;
  result.dni_W_m2 = 1000;
  result.aperture_area_m2 = 1.25;
  result.incident_power_W = 1240;
  result.to_sun = {0.6, 0, 0.8};
  result.budget = {
      {{10, 0}, {20, 0.5}, {60, 0.75}, {30, 0.5}, {40, 0.5}, {0, 0}, {89.5, 2}, {50.25, 0.5}, {950.25, 1.5}}};
  result.budget_by_replicate = {{10, 20.5, 60, 30, 40, 0, 88, 50, 951.5}, {10, 19.5, 60, 30, 40, 0, 91, 50.5, 949}};
  // cosine, shading, primary absorption, blocking, secondary absorption, cover loss, spillage, reflection, absorbed
  result.by_component = {
      {"dish", {{{10, 0}, {0, 0}, {60, 0.75}, {0, 0}, {0, 0}, {0, 0}, {89.5, 2}, {0, 0}, {0, 0}}}},
      {"absorber", {{{0, 0}, {5.5, 0.25}, {0, 0}, {30, 0.5}, {0, 0}, {0, 0}, {0, 0}, {50.25, 0.5}, {950.25, 1.5}}}},
      {"a mast with a long name", {{{0, 0}, {14.5, 0.5}, {0, 0}, {0, 0}, {40, 0.5}, {0, 0}, {0, 0}, {0, 0}, {0, 0}}}}};
  result.closure = {0.25, 1.5};
  result.optical_efficiency = {0.7602, 0.0012};
  result.intercept_factor = {0.95, 0.00123};
  result.receivers = {example_receiver("absorber"), example_receiver("second absorber")};
  result.paths = {{{{0, 0, 9}, {0, 0, 0}, {0, 1, 5}}, 0.25, Fate::absorbed},
                  {{{1, 0, 9}, {1, 0, 0}}, 0, Fate::shading}};
  result.warnings = {"two of a million samples left their own surface again"};
  result.search = "direct";
  return result;
}

inline Provenance example_provenance() {
  return {"Catoptra 0.1.0", "GCC 12.2.0", "AVX2", "2026-06-21T11:30:00Z", "catoptra trace scenes/dish.toml", false};
}

}  // namespace catoptra::test
