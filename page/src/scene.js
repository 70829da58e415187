// A scene alone: is it what was meant?
import { h, section } from "./dom.js";
import { plain } from "./numbers.js";
import { sceneInSpace } from "./space.js";
import { viewOf } from "./view.js";

export function sceneSections({ data, view }) {
  const sun = `sun at azimuth ${plain(data.sun_azimuth_deg, 5)}°, elevation ${plain(data.sun_elevation_deg, 5)}°, DNI ${plain(data.dni_W_m2)} W/m²`;
  return {
    subtitle: sun,
    sections: [
      section("space", "The scene in space", sceneInSpace({
        view: viewOf(view), maps: {}, paths: data.paths,
        describe: `View in space: ${view.components.map((c) => `${c.role} ${c.name}`).join(", ")}` })),
      section("understood", "What was understood", h("pre", {}, data.description)),
      section("source", "The scene's text", h("p", { class: "note" }, data.path), h("pre", {}, data.source)),
    ],
  };
}
