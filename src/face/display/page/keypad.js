// A number by large keys or the keyboard, with what it would be taken for in both units.
import { button, el, figure } from "/parts.js";
import { echo } from "/wire.js";

const keys = ["7", "8", "9", "4", "5", "6", "1", "2", "3", ".", "0", "⌫"];
const spoken = { "⌫": "Delete the last digit", ".": "Point" };
const units = { mm: ["mm", "thou", "in"], thou: ["thou", "in", "mm"], in: ["in", "thou", "mm"], "µm": ["µm", "mm", "thou"] };

export function keypad(unit, label, save) {
  const input = el("input", { type: "text", inputmode: "none", autocomplete: "off", spellcheck: "false", maxlength: 40, "aria-label": label, id: "entry" });
  const told = el("div", { class: "echo", role: "status" });
  let asked = 0;

  const show = async () => {
    const number = ++asked;
    const text = input.value.trim();
    if (text === "") {
      told.className = "echo";
      told.replaceChildren(`Type it in ${unit}`);
      return;
    }
    const reply = await echo(text);
    if (number !== asked) return; // typed on since
    const bad = !reply.ok || reply.body.error !== undefined;
    told.className = `echo ${bad ? "bad" : reply.body.plausible ? "good" : "odd"}`;
    told.replaceChildren(...(bad ? [reply.body.error ?? ""] : [figure(reply.body.as_typed), ...(reply.body.plausible ? [] : [el("span", { class: "odd" }, "not plausible")])]));
  };
  const type = (text) => {
    input.value = text === "⌫" ? input.value.slice(0, -1) : input.value + text;
    input.focus();
    show();
  };
  input.addEventListener("input", show);
  input.addEventListener("keydown", (event) => {
    if (event.key === "Enter" && !event.repeat) {
      event.preventDefault();
      if (input.value.trim() !== "") save(input.value.trim());
    }
  });
  show();
  return {
    input,
    view: el("div", { class: "keypad" }, input, told,
      el("div", { class: "keys", role: "group", "aria-label": "Keypad" },
        keys.map((k) => button(k, () => type(k), { "aria-label": spoken[k] ?? k }))),
      units[unit] && el("div", { class: "keys units", role: "group", "aria-label": "Unit" },
        units[unit].map((u) => button(u, () => type(` ${u}`))))),
  };
}
