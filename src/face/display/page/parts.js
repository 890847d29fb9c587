// Building blocks: elements whose texts are texts, whatever is in them.

const SVG = "http://www.w3.org/2000/svg";

const there = (child) => child !== undefined && child !== null && child !== false && child !== "";

function fill(node, attributes, children) {
  for (const [name, value] of Object.entries(attributes ?? {})) {
    if (name === "on") {
      for (const [event, handler] of Object.entries(value)) node.addEventListener(event, handler);
    } else if (value !== undefined && value !== null && value !== false) {
      node.setAttribute(name, value === true ? "" : String(value));
    }
  }
  node.append(...children.flat(Infinity).filter(there));
  return node;
}

// What stands in a node from now on.
export const put = (node, ...children) => node.replaceChildren(...children.flat(Infinity).filter(there));

export function el(tag, attributes, ...children) {
  return fill(document.createElement(tag), attributes, children);
}

export function svg(tag, attributes, ...children) {
  return fill(document.createElementNS(SVG, tag), attributes, children);
}

export function button(label, run, attributes) {
  return el("button", { type: "button", ...attributes, on: { click: run } }, label);
}

export const by_id = (id) => document.getElementById(id);

// Shapes that tell things apart without colour. Each fits a circle of radius r around 0, 0.
export function shape(name, r) {
  const polygon = (n, turn) => Array.from({ length: n }, (_, i) => {
    const a = (2 * Math.PI * (i + turn)) / n;
    return `${(r * Math.sin(a)).toFixed(2)},${(-r * Math.cos(a)).toFixed(2)}`;
  }).join(" ");
  switch (name) {
    case "go": // a triangle that points on
      return svg("polygon", { points: `${-0.7 * r},${-0.9 * r} ${r},0 ${-0.7 * r},${0.9 * r}` });
    case "near": // a diamond
      return svg("polygon", { points: polygon(4, 0) });
    case "stop": // an octagon
      return svg("polygon", { points: polygon(8, 0.5) });
    case "over": // a cross
      return svg("path", {
        d: `M${-0.8 * r} ${-0.8 * r}L${0.8 * r} ${0.8 * r}M${0.8 * r} ${-0.8 * r}L${-0.8 * r} ${0.8 * r}`,
        class: "stroke",
      });
    case "pass": // a tick
      return svg("path", { d: `M${-0.85 * r} ${0.05 * r}L${-0.2 * r} ${0.7 * r}L${0.9 * r} ${-0.7 * r}`, class: "stroke" });
    case "low": // an arrow down to a line: it did not get there
      return svg("path", { d: `M0 ${0.8 * r}V${-0.4 * r}M${-0.55 * r} ${0.05 * r}L0 ${-0.55 * r}L${0.55 * r} ${0.05 * r}M${-0.9 * r} ${-0.85 * r}H${0.9 * r}`, class: "stroke" });
    case "caution": // a warning triangle
      return svg("path", { d: `M0 ${-0.95 * r}L${r} ${0.8 * r}H${-r}ZM0 ${-0.35 * r}V${0.25 * r}M0 ${0.5 * r}V${0.55 * r}`, class: "stroke" });
    default: // a question: suspect
      return svg("path", { d: `M${-0.5 * r} ${-0.4 * r}A${0.5 * r} ${0.5 * r} 0 1 1 0 ${0.2 * r}V${0.45 * r}M0 ${0.8 * r}V${0.85 * r}`, class: "stroke" });
  }
}

export function sign(name, attributes) {
  return svg("svg", { viewBox: "-12 -12 24 24", class: `sign sign-${name}`, "aria-hidden": "true", ...attributes },
    shape(name, 9));
}

export function figure(value, attributes) {
  if (!value) return null;
  return el("span", { class: "figure", ...attributes },
    el("span", { class: "own" }, value.own),
    value.other && el("span", { class: "other" }, value.other));
}

export function fact(name, value, attributes) {
  return value ? el("div", { class: "fact", ...attributes }, el("dt", {}, name), el("dd", {}, value)) : null;
}

export const clock = (ms) => new Date(ms).toISOString().slice(11, 19) + " UTC";
