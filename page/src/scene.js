// A scene alone: is it what was meant?
import { h, section } from "./dom.js";
import { plain } from "./numbers.js";
import { sectionDrawing } from "./section.js";
import { pathsOf, sceneInSpace } from "./space.js";

export function sceneSections({ data, view }) {
  return {
    subtitle:
      `${data.path}; sun at azimuth ${plain(view.azimuth_deg, 5)}°, elevation ${plain(view.elevation_deg, 5)}°, ` +
      `DNI ${plain(data.dni_W_m2)} W/m²`,
    sections: [
      section("space", "The scene in space", sceneInSpace(view)),
      section("section", "A section through the scene", sectionDrawing(view, pathsOf(view.paths))),
      section("understood", "The scene in words", h("pre", {}, data.description)),
      section("source", "The scene's text", h("pre", {}, data.source)),
    ],
  };
}
