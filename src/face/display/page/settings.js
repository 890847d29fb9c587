// What the builder sets for this screen; kept in the browser.
import { button, el } from "/parts.js";

const defaults = { theme: "day", scale: 1, pause_s: 2, tones: true, speech: false };
const kept = () => {
  try {
    return JSON.parse(localStorage.getItem("bench") ?? "{}");
  } catch {
    return {};
  }
};

export const settings = { ...defaults, ...kept() };

export function apply() {
  const root = document.documentElement;
  root.dataset.theme = settings.theme;
  root.style.setProperty("--scale", settings.scale);
}

export function set(name, value) {
  settings[name] = value;
  try {
    localStorage.setItem("bench", JSON.stringify(settings));
  } catch {
    // a browser that keeps nothing: it counts until the page is left
  }
  apply();
}

const rows = [
  ["theme", "Light", [["day", "Day"], ["night", "Night"]]],
  ["scale", "Text", [[0.85, "Smaller"], [1, "As it is"], [1.25, "Larger"], [1.5, "Largest"]]],
  ["pause_s", "After an accepted pull, go on after", [[0, "at once"], [1, "1 s"], [2, "2 s"], [4, "4 s"], [8, "8 s"]]],
  ["tones", "Tones", [[true, "On"], [false, "Mute"]]],
  ["speech", "Speech", [[true, "On"], [false, "Off"]]],
];

export function settings_panel(changed) {
  return rows.map(([name, says, choices]) => {
    const group = el("div", { class: "choice", role: "group", "aria-label": says }, el("p", {}, says));
    const buttons = choices.map(([value, label]) => button(label, () => {
      set(name, value);
      buttons.forEach((b, i) => b.setAttribute("aria-pressed", String(choices[i][0] === value)));
      changed?.(name);
    }, { "aria-pressed": String(settings[name] === value) }));
    group.append(el("div", { class: "row" }, buttons));
    return group;
  });
}
