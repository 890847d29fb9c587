// The joint to scale: where each place is, in which order, what is done and which is next.
import { svg } from "/parts.js";

// Places without positions stand in rows.
function placed(places) {
  if (places.every((p) => p.x_mm !== undefined)) {
    return places.map((p) => ({ ...p, x: p.x_mm, y: -p.y_mm }));
  }
  const columns = Math.max(1, Math.ceil(Math.sqrt(places.length * 2)));
  return places.map((p, i) => ({ ...p, x: (i % columns) * 40, y: Math.floor(i / columns) * 48 }));
}

function nearest(points) {
  let least = Infinity;
  const some = points.length > 120 ? points.slice(0, 120) : points;
  for (const a of some) {
    for (const b of points) {
      if (a !== b) least = Math.min(least, Math.hypot(a.x - b.x, a.y - b.y));
    }
  }
  return Number.isFinite(least) && least > 0 ? least : 40;
}

const word_of = (p, next) => (next ? "next" : p.overridden ? "by decision" : p.done ? "done" : "waits");

function mark(p, i, r, next) {
  const word = word_of(p, next);
  const group = svg("g", { transform: `translate(${p.x} ${p.y})`, class: `place place-${word.replace(" ", "-")}` });
  group.append(svg("title", {}, `Place ${i + 1}, ${p.label}: ${word}, ${p.turn} in the order`));
  if (word === "next") {
    const q = 1.42 * r;
    group.append(svg("path", { class: "aim", d: `M0 ${-q}L${q} 0L0 ${q}L${-q} 0Z` }));
  }
  group.append(word === "by decision"
    ? svg("rect", { x: -r, y: -r, width: 2 * r, height: 2 * r })
    : svg("circle", { r }));
  group.append(svg("text", { class: "number", "font-size": r * (i + 1 > 99 ? 0.8 : 1.05), y: r * 0.37 }, String(i + 1)));
  if (p.done) {
    group.append(svg("path", {
      class: "tick",
      d: word === "by decision" ? `M0 ${-1.75 * r}V${-1.3 * r}M0 ${-1.16 * r}v0.02` : `M${0.5 * r} ${-1.05 * r}l${0.28 * r} ${0.3 * r}l${0.55 * r} ${-0.62 * r}`,
    }));
  }
  group.append(svg("text", { class: "turn", "font-size": r * 0.62, y: r * (word === "next" ? 2.05 : 1.72) }, `${p.turn}.`));
  return group;
}

export function joint(fastener) {
  const points = placed(fastener.places);
  const r = Math.min(0.3 * nearest(points), 30);
  const xs = points.map((p) => p.x);
  const ys = points.map((p) => p.y);
  const pad = 2.5 * r; // room for the turn below the one that is next
  const left = Math.min(...xs) - pad;
  const top = Math.min(...ys) - pad;
  const width = Math.max(...xs) - Math.min(...xs) + 2 * pad;
  const height = Math.max(...ys) - Math.min(...ys) + 2 * pad;
  const next = fastener.place - 1;
  const order = [...points].sort((a, b) => a.turn - b.turn);
  const turn = points[next].turn - 1;
  const around = order.slice(Math.max(0, turn - 1), turn + 2); // from the last to the one after next
  const done = points.filter((p) => p.done).length;
  return svg("svg", {
    class: "joint", viewBox: `${left} ${top} ${width} ${height}`, role: "img",
    "aria-label": `${fastener.group_say}: ${done} of ${points.length} done in this stage, next is ${fastener.name}`,
  },
  svg("rect", { class: "body", x: left + r * 0.3, y: top + r * 0.3, width: width - 0.6 * r, height: height - 0.6 * r, rx: r * 0.6 }),
  svg("polyline", { class: "path", points: around.map((p) => `${p.x},${p.y}`).join(" ") }),
  points.map((p, i) => mark(p, i, r, i === next)));
}

// What the marks mean, in the marks themselves.
export function legend(fastener) {
  const words = ["done", "next", "waits"];
  if (fastener.places.some((p) => p.overridden)) words.push("by decision");
  const list = document.createElement("ul");
  list.className = "legend";
  for (const word of words) {
    const item = document.createElement("li");
    const sample = { x: 0, y: 0, label: "", turn: "", done: word === "done" || word === "by decision", overridden: word === "by decision" };
    const drawing = svg("svg", { viewBox: "-17 -19 34 36", "aria-hidden": "true", class: "joint" });
    const one = mark(sample, -1, 10, word === "next");
    one.querySelectorAll("text, title").forEach((text) => text.remove());
    drawing.append(one);
    item.append(drawing, word);
    list.append(item);
  }
  return list;
}
