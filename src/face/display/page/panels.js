// What stands beside the work: the last steps, what is open, the pause and its end, other words.
import { button, by_id, clock, el, fact, put, sign } from "/parts.js";
import { settings_panel } from "/settings.js";
import { last_pull } from "/verdict.js";

const marks = { good: "pass", bad: "caution", plain: "go" };

export function open(title, content, closed) {
  const panel = by_id("panel");
  put(panel,
    el("div", { class: "head" }, el("h2", {}, title), button("Close", () => panel.close(), { class: "close" })),
    el("div", { class: "content" }, content));
  panel.onclose = () => closed?.();
  if (!panel.open) panel.showModal();
}

export const close = () => by_id("panel").open && by_id("panel").close();
export const is_open = () => by_id("panel").open;

const line = (h) => el("li", { class: `mark-${h.mark}` }, sign(marks[h.mark] ?? "go"), el("span", { class: "what" }, h.text), el("span", { class: "who" }, `${clock(h.time_ms)} · ${h.by}`));
const lines = (list) => el("ol", { class: "history" }, list.map(line));

export function history(state) {
  open("The last steps", state.history.length > 0 ? [last_pull(state), lines(state.history)] : "Nothing is recorded yet.");
}

function step_line(s) {
  return el("li", { class: s.passed ? "mark-bad" : "mark-plain" }, sign(s.passed ? "caution" : "go"),
    el("span", { class: "what" }, `${s.number}. ${s.say}`), s.passed && el("span", { class: "who" }, "left for later"));
}

export function tasks(state) {
  const job = state.job;
  open("What is open", [
    job.half.length > 0 && el("div", { class: "half" }, el("h3", {}, "Half done"), el("ul", {}, job.half.map((h) => el("li", {}, h)))),
    job.buries_next && el("p", { class: "buries" }, sign("caution"),
      el("span", {}, el("b", {}, `Step ${job.buries_next.number} buries: `), job.buries_next.buries)),
    el("ol", { class: "history" }, job.open.map(step_line)),
    el("dl", { class: "facts" }, fact("Build", job.build), fact("Job", job.title), fact("Engine", job.engine), fact("Source", job.source), fact("Builder", state.by)),
  ]);
}

export function options(changed) {
  open("This screen", settings_panel(changed));
}

function place_buttons(fastener, picked) {
  return el("div", { class: "places" }, fastener.places.map((p, i) =>
    button(p.label === String(i + 1) ? p.label : `${i + 1} · ${p.label}`, (event) => picked(p, i + 1, event.currentTarget))));
}

export function pick_place(state, word, send) {
  if (word === "replaced") return pick_replaced(state, send);
  open("Which fastener was it?", place_buttons(state.fastener, (p) => {
    close();
    send(`${word} ${p.label}`);
  }));
}

// Each is touched that is new; touched again, it is not.
function pick_replaced(state, send) {
  const chosen = new Set();
  const save = button("Save", () => {
    close();
    send(`replaced ${state.reuse_places.filter((label) => chosen.has(label)).join(", ")}`);
  }, { class: "primary", disabled: true });
  open(`Which ${state.reuse_of} are new?`, [
    place_buttons({ places: state.reuse_places.map((label) => ({ label })) }, ({ label }, number, node) => {
      if (!chosen.delete(label)) chosen.add(label);
      node.setAttribute("aria-pressed", String(chosen.has(label)));
      save.disabled = chosen.size === 0;
      save.textContent = chosen.size === 0 ? "Save" : `Save: ${chosen.size} new, ${state.reuse_places.length - chosen.size} checked`;
    }),
    save,
  ]);
}

function typed(title, before, label, save) {
  const input = el("input", { type: "text", maxlength: 200, "aria-label": label, autocomplete: "off" });
  const go = () => {
    if (input.value.trim() === "") return;
    close();
    save(input.value.trim());
  };
  input.addEventListener("keydown", (event) => event.key === "Enter" && go());
  open(title, [before, el("label", {}, label, input), button("Save", go, { class: "primary" })]);
  input.focus();
}

export function hand_over(state, send) {
  typed("Hand over", [
    el("p", {}, el("b", {}, state.by), " hands over to:"),
    state.job.half.length > 0 && el("div", { class: "half" }, el("h3", {}, "Half done"), el("ul", {}, state.job.half.map((h) => el("li", {}, h)))),
  ], "Name of who goes on", (name) => send(`person ${name}`));
}

// Which step, then why; where more falls or something is tight, the bench wants it said again.
let asked = null;

const redo_lines = (job, step) => el("ul", { class: "history" }, job.begun.filter((s) => step.falls.includes(s.number)).map((s) => el("li", {}, sign("caution"),
  el("span", { class: "what" }, `${s.number}. ${s.say}`), s.tight && el("span", { class: "who" }, "loosen first what was tightened"))));

function redo(state, send) {
  open("Redo which step?", el("div", { class: "more" }, state.job.begun.map((step) => button(`${step.number}. ${step.say}`, () =>
    typed(`Redo step ${step.number}`, redo_lines(state.job, step), "Why", (text) => {
      asked = { step, line: `redo ${step.number} ${text}` };
      if (state.redo === step.number) ask_again(state, send); // it was said once before, and left
      else send(asked.line);
    })))));
}

// After an answer: whether what was said once is to be said again.
export function ask_again(state, send) {
  const { step, line } = asked ?? {};
  asked = null;
  if (!step || state.redo !== step.number) return false;
  open("Open all of this again?", [redo_lines(state.job, step),
    button("Open again", () => {
      close();
      send(line);
    }, { class: "primary" }),
    button("Leave it as it is", close)]);
  return true;
}

// The words that can be said at any time.
export function more(state, send) {
  const free = ["note", "second_person", "reason", "witness"].includes(state.state); // any words are the answer there
  const rows = [
    !free && ["Hand over", "to another person", () => hand_over(state, send)],
    !free && ["Note", "write something down at this step", () => typed("Note", null, "Note", (text) => send(`note ${text}`))],
    ["Later", "leave this step for now", () => send("later")],
    !free && state.job.begun.length > 0 && ["Redo", "a step that was done, and what stands on it", () => redo(state, send)],
    state.state === "pull" && ["Decide", "this one, though no pull will come", () => send("decide")],
    ["Pause", "stop here; the same command goes on", () => send("pause")],
    !free && ["Reject", "end this build for good", () => typed("Reject the build", el("p", {}, "This ends the build for good."), "Why", (text) => send(`reject ${text}`))],
  ].filter(Boolean);
  open("More", el("div", { class: "more" }, rows.map(([word, says, run]) =>
    el("button", { type: "button", class: "option", on: { click: () => { close(); run(); } } }, el("b", {}, word), el("span", {}, says)))));
}

// After a long pause or a restart: three steps back in view, and the hand asked what it remembers.
export function welcome(state) {
  const told = el("p", { class: "told", role: "status" });
  const last = state.accepted;
  const asks = last && state.fastener && last.group === state.fastener.group;
  open("Where were we?", [
    el("h3", {}, "The last three steps"), lines(state.history.slice(0, 3)),
    state.job.half.length > 0 && el("div", { class: "half" }, el("h3", {}, "Half done"), el("ul", {}, state.job.half.map((h) => el("li", {}, h)))),
    asks && [el("h3", {}, "Which fastener do you remember as the last?"),
      place_buttons(state.fastener, (p, number) => {
        const same = number === last.place;
        told.className = `told ${same ? "good" : "bad"}`;
        put(told, sign(same ? "pass" : "caution"), same ? "So says the record."
          : `The record says: place ${last.place}, ${last.label}, stage ${last.stage}. Look at both before you go on.`);
      }), told],
    last_pull(state),
    button("Go on", close, { class: "primary" }),
  ]);
}
