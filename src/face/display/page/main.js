// The page's one loop: state comes in, it is drawn; an answer goes out.
import { aloud, draw, tick, warnings } from "/ask.js";
import { forget, live } from "/gauge.js";
import * as panels from "/panels.js";
import { button, by_id, el, put, sign } from "/parts.js";
import { apply, settings } from "/settings.js";
import { speak, tone, wake } from "/sound.js";
import { curve, verdict_view } from "/verdict.js";
import { answer, listen } from "/wire.js";

const IDLE_MS = 20 * 60 * 1000; // after so long nobody remembers where he was
const DEAF_MS = 350; // a key that was meant for the prompt before

let state = null;
let now = { answers: [], any: null, input: null };
let shown_at = 0;
let heard_at = Date.now();
let held = null; // a verdict that stands for a moment before the next prompt
let ended = false;

function tell(text, kind) {
  const said = by_id("said");
  said.className = kind ?? "";
  said.textContent = text ?? "";
}

async function send(line) {
  if (!state?.nonce) return;
  const to = state;
  state = { ...state, nonce: undefined }; // one answer a prompt
  const reply = await answer(to, line);
  if (!reply.ok) tell(reply.body.error ?? "The bench did not take it.", "bad");
}

const pick_place = (word) => panels.pick_place(state, word, send);

function strip() {
  const job = state.job;
  put(by_id("build"), el("b", {}, job.build), el("span", { class: "title" }, job.title));
  put(by_id("flags"),
    job.rehearsal && el("span", { class: "flag" }, "REHEARSAL"),
    job.invented && el("span", { class: "flag" }, "INVENTED FIGURES"),
    !state.may_answer && el("span", { class: "flag" }, "LOOKING ON"));
  put(by_id("progress"), state.step ? `Step ${state.step.number} of ${state.steps}` : `${state.steps_done} of ${state.steps} done`);
  put(by_id("by"), state.by);
  document.title = `${job.build}: ${aloud(state)}`;
}

function answers() {
  const undo = [];
  if (state.may_go_back) undo.push(button("Undo the last one", () => send("back"), { class: "undo" }));
  if (state.may_say_wrong && state.fastener?.group === state.accepted?.group) undo.push(button("It was another one", () => pick_place("wrong"), { class: "undo" }));
  put(by_id("actions"), state.may_answer
    && [now.answers, el("div", { class: "beside" }, undo, button("More", () => panels.more(state, send)))]);
}

function show() {
  held = null;
  forget();
  put(by_id("warnings"), warnings(state));
  tick();
  now = draw(state, send, pick_place);
  by_id("main").dataset.prompts = state.prompts;
  document.querySelector(".where .point.next")?.scrollIntoView({ block: "nearest" });
  answers();
  shown_at = performance.now();
  const text = aloud(state);
  by_id("aloud").textContent = text;
  speak(text);
  if (!panels.is_open()) now.input?.focus();
}

// The verdict stands until the pause is over, a key is pressed or the next pull begins.
function hold(verdict) {
  const main = by_id("main");
  forget();
  main.className = "held";
  main.dataset.prompts = state.prompts;
  const gauge = state.fastener?.gauge ?? last_gauge;
  put(main, verdict_view(verdict, state.said?.text, gauge), el("figure", {}, curve(verdict, gauge)));
  now = { answers: [], any: button("Go on", show, { class: "primary" }), input: null };
  put(by_id("actions"), now.any);
  shown_at = performance.now();
  by_id("aloud").textContent = `${verdict.word}. ${state.said?.text ?? ""}`;
  speak(verdict.word);
  const mine = setTimeout(() => held === mine && show(), settings.pause_s * 1000);
  held = mine;
}

let last_gauge = null;

// Whether nothing happened for so long; something happens now.
function was_idle() {
  const idle = Date.now() - heard_at > IDLE_MS;
  heard_at = Date.now();
  return idle;
}

// Who comes back finds the panel there already; one that is being typed into stays.
function watch_idle() {
  if (Date.now() - heard_at > IDLE_MS && state && !ended && !panels.is_open() && was_idle()) panels.welcome(state);
}

function on_state(next) {
  const before = state;
  const fresh = before !== null && next.verdict && next.verdict.entry !== before.verdict?.entry;
  state = next;
  const idle = was_idle();
  strip();
  tell(next.said?.text, next.said?.tone);
  if (fresh) tone(next.verdict.word === "pass" ? "pass" : "bad");
  if (fresh && next.state !== "verdict" && settings.pause_s > 0) {
    hold(next.verdict);
  } else {
    show();
  }
  last_gauge = next.fastener?.gauge ?? last_gauge;
  if ((before === null && next.resumed) || idle) panels.welcome(next);
  if (panels.ask_again(next, send)) tell("");
}

function on_live(sample) {
  if (!state) return;
  heard_at = Date.now();
  panels.close();
  held = null;
  live(state, sample);
}

// What must be seen to again, and how it is told to the bench then.
const dues = (list) => el("div", { class: "dues" }, el("h2", {}, "To be seen to again"), list.map((d) => el("p", { class: "buries" }, sign("caution"),
  el("span", {}, el("b", {}, `${d.say}: `), d.due, el("span", { class: "how" }, "Once that is done: the same command with ", el("code", {}, `--retorque ${d.group}`))))));

function on_end(end) {
  ended = true;
  state = { ...state, nonce: undefined, may_answer: false };
  by_id("main").className = "ended";
  put(by_id("main"), el("div", { class: "plain" }, el("h1", {}, `The build is ${end.outcome}.`),
    end.dues.length > 0 ? dues(end.dues) : el("p", { class: "why" }, end.said?.text ?? ""),
    end.outcome === "paused" && el("p", { class: "why" }, "The same command goes on from here.")));
  put(by_id("actions"));
  stream.close();
}

function on_link(there, refused) {
  document.body.classList.toggle("unlinked", !there && !ended);
  if (!there && !ended) {
    tell(refused ? "The bench no longer knows this screen: load the page anew."
      : "No word from the bench: what stands here may be old.", "bad");
  }
}

const deaf = new Set(["Tab", "Shift", "Control", "Alt", "Meta", "Escape", "CapsLock", "ArrowUp", "ArrowDown", "ArrowLeft", "ArrowRight", "Home", "End", "ContextMenu"]);

function on_key(event) {
  wake();
  watch_idle();
  heard_at = Date.now();
  if (event.repeat || event.ctrlKey || event.altKey || event.metaKey || panels.is_open()) return;
  const target = event.target;
  if (target.tagName === "INPUT" || deaf.has(event.key) || /^F(5|11|12)$/.test(event.key)) return;
  if (target.tagName === "BUTTON" && (event.key === "Enter" || event.key === " ")) return;
  if (event.key === "Backspace" || event.key === "Delete") {
    if (state?.may_go_back) send("back");
  } else if (performance.now() - shown_at > DEAF_MS) {
    const pressed = now.any ?? (event.key === "Enter" && now.answers.find((a) => a.classList.contains("primary")));
    if (pressed) {
      event.preventDefault();
      pressed.click();
    }
  }
}

by_id("tools").append(
  button("Last steps", () => state && panels.history(state)),
  button("Open", () => state && panels.tasks(state)),
  button("Screen", () => panels.options(wake)));
addEventListener("keydown", on_key);
addEventListener("pointerdown", () => {
  wake();
  heard_at = Date.now();
});
setInterval(() => {
  tick();
  watch_idle();
}, 1000);
apply();
const stream = listen({ state: on_state, live: on_live, say: (said) => tell(said.text, said.tone), end: on_end, link: on_link });
