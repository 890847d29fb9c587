// What is asked now: one thing, with what belongs to it, and its answers.
import { button, by_id, clock, el, fact, figure, put, sign } from "/parts.js";
import { joint, legend } from "/joint.js";
import { keypad } from "/keypad.js";
import { curve, verdict_view } from "/verdict.js";
import { where } from "/where.js";

const kickers = {
  caution: ["caution", "Caution"], confirm: ["go", "Do"], wait: ["stop", "Wait"], choose: ["go", "Take"],
  note: ["go", "Write down"], fit: ["go", "Fit"], ask: ["suspect", "Which?"], measure: ["near", "Measure"], tighten: ["go", "Tighten"],
  decide: ["caution", "Accept as it is"], look: ["suspect", "Look"],
};
const done_words = { caution: "Read", confirm: "Done", wait: "Go on", choose: "Taken" };

const kicker = (what) => {
  const [shape, word] = kickers[what] ?? ["go", what];
  return el("p", { class: `kicker kicker-${what}` }, sign(shape), word);
};

const why = (text) => text && el("p", { class: "why" }, el("b", {}, "Why: "), text);
const buried = (text) => text && el("p", { class: "buries" }, sign("caution"),
  el("span", {}, el("b", {}, "After this you can no longer reach: "), text));

// ---- one view a state: what it shows, and its answers ----

function plain(state, heading, ...more) {
  const step = state.step;
  return el("div", { class: "plain" }, kicker(step.what), el("h1", {}, heading), more,
    step.take && el("p", { class: "take" }, "Take: ", step.take), why(step.why), buried(step.buries));
}

function facts(f, state) {
  return el("dl", { class: "facts" },
    fact("Lubricant", f.lubricant), fact("Washers", f.washers),
    fact("Source", `${f.source}${state.job.invented ? " (invented figures)" : ""}`, { class: "fact source" }));
}

function target(f) {
  if (!f.target) return el("p", { class: "task" }, f.task);
  return el("div", { class: "target" },
    f.snug && el("p", { class: "snug" }, figure(f.snug), el("span", { class: "then" }, "then turn")),
    el("p", { class: "big" }, figure(f.target)),
    f.limits && el("p", { class: "limits" }, "limits ", f.limits),
    f.kind !== "torque" && el("p", { class: "task" }, f.task));
}

function at_fastener(state, left) {
  const f = state.fastener;
  return el("div", { class: "two" },
    el("div", { class: "left" },
      el("p", { class: "kicker" }, `${f.group_say} · stage ${f.stage} of ${f.stages} · ${f.turn} of ${f.places.length}`),
      el("h1", { class: "place-name" }, el("span", { class: "no" }, String(f.place)), f.label !== String(f.place) && f.label),
      f.class[0] && el("p", { class: "buries" }, sign("caution"), f.class[0]), left),
    el("figure", { class: "right" }, joint(f), legend(f)));
}

const notes = (lines) => lines?.length > 0 && el("ul", { class: "notes" }, lines.map((line) => el("li", {}, line)));

function text_entry(label, save) {
  const input = el("input", { type: "text", autocomplete: "off", maxlength: 200, "aria-label": label, id: "entry" });
  input.addEventListener("keydown", (event) => {
    if (event.key === "Enter" && !event.repeat && input.value.trim() !== "") {
      event.preventDefault();
      save(input.value.trim());
    }
  });
  return input;
}

const answer_of = (send, line, label, more) => button(label, () => send(line), { class: "primary", ...more });

// What is picked by hand is told without the words for a keyboard.
const picked = { another: "another one was pulled by mistake: point at it", replaced: "some are new, the others are good: point at the new ones" };

function options(state, send, pick_place) {
  return state.options.map((o) => el("button", {
    type: "button", class: "option", on: { click: () => (picked[o.word] ? pick_place(o.word) : send(o.word)) },
  }, el("b", {}, o.word), o.says && el("span", {}, picked[o.word] ?? o.says)));
}

const views = {
  confirm: (state, send) => ({
    main: plain(state, state.step.say),
    answers: [answer_of(send, "yes", done_words[state.step.what] ?? "Done")], any_key: true,
  }),
  position: (state, send) => ({
    main: plain(state, `Turn it so that it stands: ${state.step.position}`, el("p", { class: "why" }, "Before: ", state.step.say)),
    answers: [answer_of(send, "yes", "It stands so")], any_key: true,
  }),
  note: (state, send) => typed(state, send, state.step.say, "What to write down"),
  second_person: (state, send) => typed(state, send, "Who else stands for it?", "Name of the second person", true, on_what(state), "decide"),
  witness: (state, send) => typed(state, send, `All ${state.witness.n} ${state.witness.of} are tight. Who else has looked at them?`, "Name of the second person",
    false, state.witness.class[0], "look"),
  reason: (state, send) => typed(state, send, "Why is it accepted as it is?", "Reason", true, on_what(state), "decide"),
  ask: (state, send, pick) => ({
    main: plain(state, state.step.say, state.reuse_check && el("p", { class: "why" },
      el("b", {}, `The ${state.reuse_of}, to be used again only after a check: `), state.reuse_check)),
    answers: options(state, send, pick),
  }),
  reading: (state, send) => {
    const r = state.reading;
    const pad = keypad(r.unit, `${r.say}, ${r.at}, in ${r.unit}`, send);
    return {
      main: el("div", { class: "two measure" },
        el("div", { class: "left" },
          el("p", { class: "kicker" }, `${state.step.say} · reading ${r.number} of ${r.of}${r.repeats ? ` · time ${r.repeat} of ${r.repeats}` : ""}`),
          el("h1", {}, r.say, r.map.rows.flat().length > 1 && [": ", el("em", {}, r.at)]),
          where(r),
          el("dl", { class: "facts" }, fact("With", r.gauge), fact("Plausible", r.plausible),
            r.before?.length > 0 && fact("Read before", r.before.map((b) => b.value.own).join(", ")),
            r.repeats_spread && fact("They differ by", figure(r.repeats_spread)),
            r.spread_most && fact("May differ by", figure(r.spread_most)),
            r.spread && fact("Spread so far", figure(r.spread)),
            r.derived.length > 0 && fact("Must give", el("ul", {}, r.derived.map((d) => el("li", {}, d))))),
          why(state.step.why)),
        pad.view),
      answers: [button("Save", () => pad.input.value.trim() !== "" && send(pad.input.value.trim()), { class: "primary" })],
      input: pad.input,
    };
  },
  length: (state, send, pick) => {
    const l = state.length;
    const says = l.tightened ? "Its length now" : "Its free length, before its first pull";
    const pad = keypad(l.unit, `${says}, in ${l.unit}`, send);
    return {
      main: el("div", { class: "two measure" },
        el("div", { class: "left" }, el("p", { class: "kicker" }, state.fastener.group_say, " · ", state.fastener.name), el("h1", {}, says),
          el("dl", { class: "facts" }, l.free && fact("Free it was", figure(l.free)), l.grow && fact("It must grow by", figure(l.grow))), joint(state.fastener)),
        pad.view),
      answers: [button("Save", () => pad.input.value.trim() !== "" && send(pad.input.value.trim()), { class: "primary" }), ...options(state, send, pick)],
      input: pad.input,
    };
  },
  value: (state, send, pick) => ({
    main: el("div", { class: "plain" }, el("p", { class: "kicker" }, sign(state.value.side === "low" ? "low" : "over"), `too ${state.value.side}`),
      el("h1", {}, `${state.value.say}: ${state.value.beside}`), el("p", { class: "limits" }, "limits ", state.value.limits),
      state.value.remedy && el("p", { class: "why" }, state.value.remedy)),
    answers: options(state, send, pick),
  }),
  pull: (state) => ({
    main: at_fastener(state, [target(state.fastener), notes(state.fastener.notes), facts(state.fastener, state)]),
    answers: [el("p", { class: "pull-now" }, sign("go"), "Pull")],
  }),
  no_tool: (state) => ({
    main: at_fastener(state, [el("p", { class: "buries" }, sign("caution"), el("span", {}, `${state.tool_text.replace(/\.$/, "")}. It goes on here once the wrench is there.`)), target(state.fastener)]),
    answers: [],
  }),
  slot: (state, send, pick) => ({
    main: at_fastener(state, [el("p", { class: "task" }, "Does a slot meet the hole?")]),
    answers: [answer_of(send, "yes", "Yes"), answer_of(send, "no", "No"), ...options(state, send, pick)],
  }),
  verdict: (state, send, pick) => ({
    main: el("div", { class: "two" },
      state.verdict ? verdict_view(state.verdict, state.said?.text, state.fastener.gauge) : el("p", { class: "task" }, state.said?.text ?? ""),
      el("figure", { class: "right" }, state.verdict && curve(state.verdict, state.fastener.gauge), joint(state.fastener))),
    answers: options(state, send, pick),
  }),
  fit: (state, send) => {
    const s = state.step;
    return typed(state, send, `${s.fits} to ${s.fit_to}${s.mark ? `, marked ${s.mark}` : ""}. What stands on it?`, "What stands on the part",
      false, `${s.say} · ${s.fit_number} of ${s.fit_of}`);
  },
  close: (state, send) => ({
    main: el("div", { class: "plain" }, el("h1", {}, `All ${state.steps} steps are done.`), el("p", { class: "why" }, "Closing is for good.")),
    answers: [answer_of(send, "close", "Close the build")],
  }),
};

// What is decided on: a value outside its limits, or a verdict.
function on_what(state) {
  if (state.value) return `${state.value.say}: ${state.value.beside}; limits ${state.value.limits}`;
  const [f, v] = [state.fastener, state.verdict];
  return f && v && `${f.group_say}, ${f.name}, stage ${f.stage}: ${v.word}${f.gauge ? `, ${(v.peak_Nm * f.gauge.own_per_Nm).toFixed(1)} ${f.gauge.own}` : ""}`;
}

function typed(state, send, heading, label, cancels, before, what = state.step?.what) {
  const input = text_entry(label, send);
  const save = button("Save", () => input.value.trim() !== "" && send(input.value.trim()), { class: "primary" });
  return {
    main: el("div", { class: "plain" }, what && kicker(what), before && el("p", { class: "why" }, before), el("h1", {}, heading), input, why(state.step?.why)),
    answers: [save, cancels && button("Cancel", () => send("cancel"))].filter(Boolean),
    input,
  };
}

// A state of a newer program: what it says, and a line for the answer.
const other = (state, send, pick) => (state.options.length > 0
  ? { main: plain(state, state.step?.say ?? ""), answers: options(state, send, pick) }
  : typed(state, send, state.step?.say ?? "", "Answer"));

// What is said aloud of a prompt.
export function aloud(state) {
  const f = state.fastener;
  if (state.state === "pull" && f) {
    return `${f.group_say}, ${f.label}, stage ${f.stage}, ${f.target ? `${f.snug ? `${f.snug.own}, then ` : ""}${f.target.own}` : f.task[0]}`;
  }
  if (state.reading) return `${state.reading.say}, ${state.reading.at}`;
  if (state.value) return `${state.value.say}: ${state.value.beside}`;
  return state.step?.say ?? "";
}

// Draws the prompt; says which button any key presses, and where typing goes.
export function draw(state, send, pick_place) {
  let view;
  try {
    view = (views[state.state] ?? other)(state, send, pick_place);
  } catch (error) { // better a plain line than the prompt before
    console.error(error);
    view = other(state, send, pick_place);
  }
  const main = by_id("main");
  main.className = `state-${state.state}`;
  put(main, view.main);
  if (!state.may_answer) main.querySelectorAll(".keypad, #entry").forEach((n) => n.remove());
  const answers = state.may_answer ? view.answers : [];
  return { answers, any: view.any_key ? answers[0] : null, input: state.may_answer ? view.input : null };
}

export function warnings(state) {
  const rows = state.bans.map((line) => el("p", { class: "ban" }, sign("over"), line));
  if (state.clock) {
    rows.push(el("p", { class: "clock" }, sign("stop"), state.clock[0], " ", el("span", { class: "remains", "data-until": state.clock_ms })));
  }
  return rows;
}

export function tick() {
  for (const left of document.querySelectorAll("[data-until]")) {
    const s = Math.round((Number(left.dataset.until) - Date.now()) / 1000);
    const [h, m] = [Math.floor(Math.abs(s) / 3600), Math.floor(Math.abs(s) / 60) % 60];
    const two = (n) => String(n).padStart(2, "0");
    left.textContent = `${s < 0 ? "over by " : ""}${h > 0 ? `${h}:${two(m)}` : m}:${two(Math.abs(s) % 60)}`;
  }
}

export { clock };
