// The components of a scene as the program sends them, unpacked for drawing.
import { unpacked } from "./stored.js";

export function viewOf(view) {
  return {
    ...view,
    components: view.components.map((component) => ({
      ...component,
      mesh: Object.fromEntries(Object.entries(component.mesh).map(([name, values]) => [name, unpacked(values)])),
    })),
  };
}
