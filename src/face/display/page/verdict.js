// After a pull: the word, why, and the curve with what decided.
import { el, sign, svg } from "/parts.js";

const WIDTH = 640;
const HEIGHT = 360;
const words = { pass: "PASS", low: "LOW", high: "HIGH", suspect: "SUSPECT" };
const signs = { pass: "pass", low: "low", high: "over", suspect: "suspect" };

const round = (value) => (Math.abs(value) < 100 ? value.toFixed(1) : value.toFixed(0));

function steps(most) {
  const raw = most / 4;
  const power = 10 ** Math.floor(Math.log10(raw));
  const step = [1, 2, 5, 10].find((n) => n * power >= raw) * power;
  return Array.from({ length: Math.floor(most / step) }, (_, i) => (i + 1) * step);
}

// Without an angle the curve is over time. A stroke that begins anew lifts the pen.
function axes(verdict) {
  const turn = verdict.has_turn === true;
  const all = [verdict, ...verdict.siblings ?? []].flatMap((one) => one.curve).filter(Boolean);
  const xs = all.map((p) => p[0]);
  const least_x = Math.min(turn ? 0 : xs[0], ...xs);
  const most_x = Math.max(least_x + 1, ...xs, turn ? verdict.high_deg ?? 0 : 0);
  const most_y = Math.max(1, ...all.map((p) => p[1]), verdict.high_Nm ?? 0);
  const end_x = most_x + 0.08 * (most_x - least_x);
  return {
    turn, most_x, most_y, end_x,
    x: (v) => ((v - least_x) / (end_x - least_x)) * WIDTH, y: (v) => HEIGHT - (v / (1.12 * most_y)) * HEIGHT,
  };
}

function limit_band(verdict, a) {
  const parts = [];
  if (verdict.low_Nm !== undefined || verdict.high_Nm !== undefined) {
    const top = a.y(verdict.high_Nm ?? 1.12 * a.most_y);
    const low = a.y(verdict.low_Nm ?? 0);
    parts.push(svg("rect", { class: "band", x: 0, y: top, width: WIDTH, height: Math.max(2, low - top) }));
  }
  if (a.turn && verdict.low_deg !== undefined) {
    const left = a.x(verdict.low_deg);
    const right = a.x(verdict.high_deg ?? a.end_x);
    parts.push(svg("rect", { class: "band", x: left, y: 0, width: Math.max(2, right - left), height: HEIGHT }));
  }
  return parts;
}

function line(points, a, attributes) {
  let drawn = "";
  points.forEach((p, i) => {
    if (p) drawn += `${i === 0 || !points[i - 1] ? "M" : "L"}${a.x(p[0]).toFixed(1)} ${a.y(p[1]).toFixed(1)}`;
  });
  return svg("path", { d: drawn, ...attributes });
}

export function curve(verdict, gauge) {
  if (!verdict?.curve?.length) return null;
  const a = axes(verdict);
  const per = gauge?.own_per_Nm ?? 1;
  const points = verdict.curve.filter(Boolean);
  const peak = points.reduce((best, p) => (p[1] > best[1] ? p : best), points[0]);
  const decided = verdict.reasons[0]?.word.replaceAll("_", " ") ?? "inside the limits";
  const at_left = a.x(peak[0]) > WIDTH / 2;
  const siblings = verdict.siblings ?? [];
  return svg("svg", {
    class: "curve", viewBox: `-70 -10 ${WIDTH + 90} ${HEIGHT + 60}`, role: "img",
    "aria-label": `Place ${verdict.place}, torque over ${a.turn ? "angle" : "time"}: peak ${round(verdict.peak_Nm * per)} ${gauge?.own ?? "N·m"}; ${decided}`
      + (siblings.length > 0 ? `; behind it ${siblings.length} of its siblings` : ""),
  },
  limit_band(verdict, a),
  steps(a.most_y * per).map((v) => [
    svg("path", { class: "grid", d: `M0 ${a.y(v / per)}H${WIDTH}` }),
    svg("text", { class: "tick y", x: -8, y: a.y(v / per) + 8 }, String(v)),
  ]),
  a.turn && steps(a.most_x).map((v) => svg("text", { class: "tick x", x: a.x(v), y: HEIGHT + 28 }, `${v}°`)),
  !a.turn && svg("text", { class: "tick x", x: WIDTH / 2, y: HEIGHT + 30 }, "time"),
  svg("path", { class: "axis", d: `M0 0V${HEIGHT}H${WIDTH}` }),
  siblings.map((s) => line(s.curve, a, { class: `sibling${s.odd ? " odd" : ""}` })),
  line(verdict.curve, a, { class: "line" }),
  svg("circle", { class: "peak", cx: a.x(peak[0]), cy: a.y(peak[1]), r: 9 }),
  svg("text", { class: `peak-label ${at_left ? "before" : "behind"}`, x: a.x(peak[0]) + (at_left ? -18 : 18), y: a.y(peak[1]) + 38 }, decided));
}

// The curve with a line that says whose it is.
export function last_pull(state) {
  const verdict = state.verdict;
  const drawing = curve(verdict, state.fastener?.gauge);
  return drawing && el("figure", { class: "last-pull" },
    el("figcaption", {}, sign(signs[verdict.word] ?? "suspect"), `The last pull: place ${verdict.place}, ${verdict.label}`
      + (verdict.siblings.length > 0 ? "; thin, the others of this stage" : "")), drawing);
}

export function verdict_view(verdict, said, gauge) {
  const per = gauge?.own_per_Nm ?? 1;
  return el("section", { class: `verdict verdict-${verdict.word}`, "aria-label": "Verdict" },
    el("p", { class: "word" }, sign(signs[verdict.word] ?? "suspect"), words[verdict.word] ?? verdict.word),
    el("p", { class: "of" }, `Place ${verdict.place}, ${verdict.label} · ${round(verdict.peak_Nm * per)} ${gauge?.own ?? "N·m"}`
      + (gauge ? ` (${round(verdict.peak_Nm * gauge.other_per_Nm)} ${gauge.other})` : "")
      + (verdict.turn_deg !== undefined ? ` · ${Math.round(verdict.turn_deg)}°` : "")),
    said && el("p", { class: "because" }, said));
}
