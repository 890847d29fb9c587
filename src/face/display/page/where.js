// Where to measure: the part that is measured, and each point of it with what was read there.
import { el, sign, svg } from "/parts.js";

const WAITS = "waits";
const state_of = (point) => (point.now ? "next" : point.value ? "done" : WAITS);

// A gauge's line across what is measured: the asked one is thick and has arrow heads and a diamond.
function across(state, x1, y1, x2, y2) {
  const length = Math.hypot(x2 - x1, y2 - y1);
  const [ux, uy] = [(x2 - x1) / length, (y2 - y1) / length];
  const head = (x, y, to) => `M${x} ${y}l${to * (9 * ux - 5 * uy)} ${to * (9 * uy + 5 * ux)}M${x} ${y}l${to * (9 * ux + 5 * uy)} ${to * (9 * uy - 5 * ux)}`;
  const [mx, my] = [(x1 + x2) / 2, (y1 + y2) / 2];
  return svg("g", { class: `at at-${state}` },
    svg("path", { class: "gauge", d: `M${x1} ${y1}L${x2} ${y2}` }),
    state === "next" && [
      svg("path", { class: "heads", d: head(x1, y1, 1) + head(x2, y2, -1) }),
      svg("path", { class: "mark", d: `M${mx} ${my - 9}L${mx + 9} ${my}L${mx} ${my + 9}L${mx - 9} ${my}Z` })],
    state === "done" && svg("path", { class: "heads", d: `M${mx - 8} ${my}l6 6L${mx + 8} ${my - 8}` }));
}

const spot = (state, x, y) => svg("g", { class: `at at-${state}` },
  state === "next" ? svg("path", { class: "mark", d: `M${x} ${y - 11}L${x + 11} ${y}L${x} ${y + 11}L${x - 11} ${y}Z` })
    : state === "done" ? [svg("circle", { class: "gauge", cx: x, cy: y, r: 8 }), svg("path", { class: "heads", d: `M${x - 4} ${y}l3 4l6 -8` })]
      : svg("circle", { class: "gauge", cx: x, cy: y, r: 6 }));

const hatch = (x, y, width, height) => [
  svg("rect", { class: "wall", x, y, width, height }),
  svg("path", { class: "hatch", d: Array.from({ length: Math.ceil((width + height) / 9) }, (_, i) => {
    const [from, to] = [Math.max(0, i * 9 - width), Math.min(height, i * 9)];
    return `M${x + i * 9 - from} ${y + from}L${x + i * 9 - to} ${y + to}`;
  }).join("") }),
];

// ---- parts: each gets the state of each row; a row is 40 high, or wide where the axis is level ----

const ROW = 40;
const COLUMN = 100;

function bore(states, lies) {
  const long = states.length * (lies ? COLUMN : ROW);
  const view = lies ? [long, 96] : [84, long];
  const walls = lies ? [hatch(0, 0, long, 14), hatch(0, 82, long, 14)] : [hatch(0, 0, 11, long), hatch(73, 0, 11, long)];
  return svg("svg", { viewBox: `-2 -2 ${view[0] + 4} ${view[1] + 4}` }, walls, svg("path", { class: "axis", d: lies ? `M0 48H${long}` : `M42 0V${long}` }),
    states.map((s, i) => (lies ? across(s, (i + 0.5) * COLUMN, 15, (i + 0.5) * COLUMN, 81) : across(s, 12, (i + 0.5) * ROW, 72, (i + 0.5) * ROW))));
}

function shaft(states, lies) {
  const long = states.length * (lies ? COLUMN : ROW);
  const end = long - 8;
  const edge = lies ? `M0 2V94M${long} 2V94M8 18H${end}M8 78H${end}M0 8L8 18M0 88L8 78M${long} 8L${end} 18M${long} 88L${end} 78`
    : `M0 0H84M0 ${long}H84M14 8V${end}M70 8V${end}M6 0L14 8M78 0L70 8M6 ${long}L14 ${end}M78 ${long}L70 ${end}`;
  return svg("svg", { viewBox: lies ? `-2 -2 ${long + 4} 100` : `-2 -2 88 ${long + 4}` },
    svg("path", { class: "edge", d: edge }), svg("path", { class: "axis", d: lies ? `M-2 48H${long + 2}` : `M42 -2V${long + 2}` }),
    states.map((s, i) => (lies ? across(s, (i + 0.5) * COLUMN, 18, (i + 0.5) * COLUMN, 78) : across(s, 14, (i + 0.5) * ROW, 70, (i + 0.5) * ROW))));
}

function ring(states) {
  const at = [[60, 12], [108, 60], [60, 108], [12, 60]];
  return svg("svg", { viewBox: "-4 -4 128 128" }, svg("circle", { class: "edge", cx: 60, cy: 60, r: 56 }), svg("circle", { class: "edge", cx: 60, cy: 60, r: 40 }),
    states.map((s, i) => spot(s, ...at[i])));
}

function face(states, names) {
  const spans = { along: [6, 60, 174, 60], across: [90, 6, 90, 114], "diagonal 1": [6, 6, 174, 114], "diagonal 2": [6, 114, 174, 6] };
  const order = states.map((s, i) => i).sort((a, b) => (states[a] === "next") - (states[b] === "next"));
  return svg("svg", { viewBox: "-4 -4 188 128" }, svg("rect", { class: "edge", x: 0, y: 0, width: 180, height: 120, rx: 6 }),
    [48, 90, 132].map((x) => svg("circle", { class: "hint", cx: x, cy: 60, r: 15 })),
    order.map((i) => across(states[i], ...(spans[names[i]] ?? spans.along))));
}

function end_gap(states) {
  return svg("svg", { viewBox: "-4 -4 128 128" }, svg("circle", { class: "wall", cx: 60, cy: 60, r: 58 }), svg("circle", { class: "inside", cx: 60, cy: 60, r: 52 }),
    svg("path", { class: "ring", d: "M69 12A49 49 0 1 1 51 12" }), svg("path", { class: "edge", d: "M51 7V21M69 7V21" }),
    spot(states[0], 60, 40), svg("path", { class: "axis", d: "M60 28V14" }));
}

function float(states) {
  return svg("svg", { viewBox: "-4 -4 188 104" }, hatch(0, 6, 18, 84), hatch(162, 6, 18, 84),
    svg("path", { class: "edge", d: "M30 34H150V62H30ZM30 16V80H42V16ZM138 16V80H150V16Z" }), svg("path", { class: "axis", d: "M8 48H172" }),
    across(states.includes("next") ? "next" : "done", 62, 48, 118, 48));
}

const bodies = { bore, shaft, round: ring, face, "end gap": end_gap, float };

// The direction of a column, as one looks along the axis.
const direction = (i) => svg("svg", { class: "direction", viewBox: "-14 -14 28 28", "aria-hidden": "true" },
  svg("circle", { class: "edge", r: 12 }),
  svg("path", { class: "heads", transform: `rotate(${90 * i})`, d: "M-9 0H9M-9 0l4 -4M-9 0l4 4M9 0l-4 -4M9 0l-4 4" }));

function cell(point, r) {
  const state = state_of(point);
  const was = point.value?.own.split(" ")[0]; // the unit is said beside the keys
  const says = { next: r.repeats ? `here ${r.repeat}/${r.repeats}` : "here", done: was, [WAITS]: "–" }[state];
  const whole = point.now && was ? `${says} (${was})` : says;
  return el("td", { class: `point ${state}`, "aria-current": point.now ? "step" : null },
    el("span", { class: "inner" }, state !== WAITS && sign(state === "done" ? "pass" : "near"), el("span", { class: "has" }, whole)));
}

// Rows stand below each other beside the drawing, as they do on the part; where its axis is level
// they stand side by side below it.
function table(map, r, drawing, lying) {
  const named_rows = map.row_names.some(Boolean);
  const columns = map.column_names;
  const named_columns = columns.some(Boolean);
  const arrow = (i) => map.column_names.length === 2 && (map.body === "bore" || map.body === "shaft") && direction(i);
  const head = (scope, name, icon) => el("th", { scope }, icon, name);
  if (lying) {
    return el("table", {},
      drawing && el("tr", {}, named_columns && el("td"), el("td", { colspan: map.rows.length, class: "picture" }, drawing)),
      el("tr", { class: "names" }, named_columns && el("td"), map.row_names.map((name) => head("col", name))),
      columns.map((name, c) => el("tr", {}, named_columns && head("row", name, arrow(c)), map.rows.map((row) => cell(row[c], r)))));
  }
  const picture = drawing && el("td", { rowspan: map.rows.length, class: "picture" }, drawing);
  return el("table", {},
    named_columns && el("tr", { class: "names" }, picture && el("td"), named_rows && el("td"), columns.map((name, i) => head("col", name, arrow(i)))),
    map.rows.map((row, i) => el("tr", {}, i === 0 && picture, named_rows && head("row", map.row_names[i]), row.map((point) => cell(point, r)))));
}

// Nothing where there is one point, and nothing known of it.
export function where(r) {
  const { map } = r;
  const draw = bodies[map.body];
  if (!draw && map.rows.length === 1 && map.rows[0].length === 1) return null;
  const column = Math.max(0, map.rows[0].findIndex((_, c) => map.rows.some((row) => row[c].now))); // the gauge stands in one direction
  const states = map.rows.map((row) => state_of(row[column]));
  const lying = map.lies && map.rows.length <= 4;
  const drawing = draw?.(states, map.body === "face" ? map.row_names : lying);
  drawing?.setAttribute("aria-hidden", "true");
  const figure = el("figure", { class: `where body-${map.body.replace(" ", "-")}${lying ? " lying" : ""}`, "aria-label": `Where to measure${map.part ? `: ${map.part}` : ""}` },
    table(map, r, drawing, lying));
  figure.style.setProperty("--rows", map.rows.length);
  return figure;
}
