// Colours, all taken so that readers with any of the usual kinds of colour blindness can tell them apart: the eight of
// Okabe and Ito (2008, "Color universal design") for kinds, and a scale of even lightness for flux.
import { interpolateInferno } from "d3";

/// What became of a ray: colour, dash in the legend's line, and words.
export const fates = {
  absorbed: { colour: "#e69f00", words: "absorbed by a receiver" },
  receiver_reflection: { colour: "#f0e442", words: "reflected by a receiver" },
  primary_absorption: { colour: "#999999", words: "absorbed by a primary" },
  secondary_absorption: { colour: "#cc79a7", words: "absorbed by a secondary" },
  blocking: { colour: "#d55e00", words: "blocked after the mirrors" },
  spillage: { colour: "#56b4e9", words: "missed the receivers" },
  shading: { colour: "#0072b2", words: "shaded before the mirrors" },
  cover_loss: { colour: "#009e73", words: "lost at a cover" },
};

/// Curves that share a chart, in this order; their dashes tell them apart without colour.
export const curves = [
  "var(--curve-1)",
  "var(--curve-2)",
  "var(--curve-3)",
  "var(--curve-4)",
  "var(--curve-5)",
  "var(--curve-6)",
];
export const dashes = [null, "7 3", "2 3", "9 3 2 3", "1 2", "12 4"];

/// Colour and dashes of curve i. Beyond six curves the dashes move on by one, so that no two of 36 curves look alike.
export function lookOf(i) {
  const round = Math.floor(i / curves.length);
  return { colour: curves[i % curves.length], dash: dashes[(i + round) % dashes.length] };
}

/// Share of the largest flux, 0 to 1, as a colour.
export function fluxColour(share) {
  return interpolateInferno(Math.max(0, Math.min(1, share)));
}
