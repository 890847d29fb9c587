// While pulling: one figure, one word, one bar, to be read from three metres.
import { by_id, el, sign, svg } from "/parts.js";
import { tone } from "/sound.js";

const names = ["go", "near", "stop", "over"];
const WIDTH = 1000;
let shown = null; // the parts that change with each sample

const digits = (value) => (Math.abs(value) < 100 ? value.toFixed(1) : value.toFixed(0));

function scale_of(g) {
  const most = g.high ?? (g.target ? 1.2 * g.target : 100);
  return 1.15 * Math.max(most, g.target ?? 0);
}

function text_of(g, value) {
  return g.about === "turn" ? `${Math.round(value)}°` : digits(value * g.own_per_Nm);
}

function bar(g) {
  const scale = scale_of(g);
  const x = (value) => (WIDTH * Math.min(Math.max(value, 0), scale)) / scale;
  const low = g.low ?? g.target;
  const high = g.high ?? scale;
  const fill = svg("rect", { class: "fill", x: 0, y: 34, height: 62, width: 0 });
  const hand = svg("path", { class: "hand", d: "M0 22V108" });
  const labels = [];
  const label = (value, name, side) => value !== undefined && labels.push(
    svg("text", { x: x(value), y: 22, class: `end ${side}` }, name === "" ? text_of(g, value) : `${name} ${text_of(g, value)}`));
  label(g.low, "", "before");
  label(g.high, "", "behind");
  return {
    fill, hand, x,
    drawing: svg("svg", { class: "bar", viewBox: `-8 -8 ${WIDTH + 16} 126`, "aria-hidden": "true" },
      svg("rect", { class: "whole", x: 0, y: 34, width: WIDTH, height: 62 }),
      low !== undefined && svg("rect", { class: "band", x: x(low), y: 26, width: Math.max(4, x(high) - x(low)), height: 78 }),
      fill,
      g.target !== undefined && svg("path", { class: "target", d: `M${x(g.target)} 26V104` }),
      hand, labels),
  };
}

function build(state) {
  const g = state.fastener.gauge;
  const parts = bar(g);
  const main = by_id("main");
  const value = el("span", { class: "value" });
  const unit = el("span", { class: "unit" }, g.about === "turn" ? "" : g.own);
  const second = el("p", { class: "second" });
  const word = el("p", { class: "word" });
  main.className = "pulling";
  main.replaceChildren(
    el("p", { class: "which" }, `${state.fastener.name} · stage ${state.fastener.stage} of ${state.fastener.stages}`),
    word,
    el("div", { class: "now" }, el("p", { class: "reading" }, value, unit), second),
    parts.drawing);
  by_id("actions").replaceChildren();
  shown = { prompts: state.prompts, g, parts, value, second, word, at: -1 };
}

export function forget() {
  shown = null;
  document.body.dataset.word = "";
}

export function live(state, sample) {
  if (!state?.fastener) return;
  if (shown?.prompts !== state.prompts) build(state);
  const { g, parts } = shown;
  const followed = g.about === "turn" ? sample.turn_deg ?? 0 : sample.torque_Nm;
  const torque = `${digits(sample.torque_Nm * g.own_per_Nm)} ${g.own}`;
  const other = `${digits(sample.torque_Nm * g.other_per_Nm)} ${g.other}`;
  shown.value.textContent = text_of(g, followed);
  shown.second.textContent = g.about === "turn" ? `${torque}\n${other}`
    : sample.turn_deg === null ? other : `${other}\n${Math.round(sample.turn_deg)}°`;
  parts.fill.setAttribute("width", parts.x(followed));
  parts.hand.setAttribute("transform", `translate(${parts.x(followed)} 0)`);
  if (sample.word !== shown.at) {
    shown.at = sample.word;
    document.body.dataset.word = names[sample.word];
    shown.word.replaceChildren(sign(names[sample.word]), g.words[sample.word]);
    by_id("aloud").textContent = g.words[sample.word];
    tone(names[sample.word]);
  }
}
