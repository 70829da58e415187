// Small helpers for building the page.

/// An element: h("p", {class: "note"}, "text", child, …). Listeners are functions under names such as onclick; what is
/// null, undefined or false is left out.
export function h(tag, attributes = {}, ...children) {
  return filled(document.createElement(tag), attributes, children);
}

/// The same for SVG.
export function svg(tag, attributes = {}, ...children) {
  return filled(document.createElementNS("http://www.w3.org/2000/svg", tag), attributes, children);
}

function filled(element, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (typeof value === "function") element[name] = value;
    else element.setAttribute(name, value === true ? "" : value);
  }
  element.append(
    ...children.flat(Infinity).filter((child) => child !== null && child !== undefined && child !== false),
  );
  return element;
}

/// A titled part of the page, in the list that the navigation is made from.
export function section(id, title, ...children) {
  return h("section", { id, "aria-labelledby": `${id}-title` }, h("h2", { id: `${id}-title` }, title), children);
}

/// Draws into `box` for its width, again whenever that changes. Returns a function that draws at once.
export function drawnToWidth(box, draw) {
  let width = 0;
  const again = () => {
    if (width > 0) box.replaceChildren(...[draw(width)].flat());
  };
  new ResizeObserver(([entry]) => {
    const now = Math.floor(entry.contentRect.width);
    if (now === width) return;
    width = now;
    again();
  }).observe(box);
  return again;
}

/// A slider with its label and its value in words.
export function slider({ label, count, start = 0, words, onchange }) {
  const said = h("output", {}, words(start));
  const range = h("input", {
    type: "range",
    min: 0,
    max: count - 1,
    step: 1,
    value: start,
    "aria-valuetext": words(start),
  });
  range.oninput = () => {
    const place = Number(range.value);
    said.textContent = words(place);
    range.setAttribute("aria-valuetext", words(place));
    onchange(place);
  };
  const whole = h("label", { class: "slider" }, h("span", {}, label), range, said);
  whole.go = (place) => {
    range.value = place;
    range.oninput();
  };
  return whole;
}

/// A group of radio buttons that looks like one switch.
export function choice({ label, options, chosen = 0, onchange }) {
  const name = `choice-${(choice.count = (choice.count ?? 0) + 1)}`;
  return h(
    "fieldset",
    { class: "choice" },
    h("legend", {}, label),
    options.map((words, i) =>
      h(
        "label",
        {},
        h("input", { type: "radio", name, checked: i === chosen, onchange: () => onchange(i) }),
        h("span", {}, words),
      ),
    ),
  );
}
