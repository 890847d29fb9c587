// Tones that differ in pattern, not only in pitch; and speech, where it is wanted.
import { settings } from "/settings.js";

// Per tone: [frequency in Hz, begin in s, length in s].
const patterns = {
  near: [[660, 0, 0.07], [660, 0.14, 0.07]],
  stop: [[880, 0, 0.5]],
  over: [[220, 0, 0.12], [220, 0.18, 0.12], [220, 0.36, 0.12], [220, 0.54, 0.12]],
  pass: [[660, 0, 0.1], [990, 0.12, 0.22]],
  bad: [[330, 0, 0.18], [220, 0.22, 0.36]],
};

let audio = null;

// Browsers allow sound after a touch or a key only.
export function wake() {
  if (!settings.tones) return;
  audio ??= new AudioContext();
  if (audio.state === "suspended") audio.resume();
}

export function tone(name) {
  if (!settings.tones || !audio || audio.state !== "running") return;
  const now = audio.currentTime;
  for (const [hz, begin, length] of patterns[name] ?? []) {
    const source = audio.createOscillator();
    const gain = audio.createGain();
    source.frequency.value = hz;
    source.type = name === "over" ? "square" : "sine";
    gain.gain.setValueAtTime(0, now + begin);
    gain.gain.linearRampToValueAtTime(0.5, now + begin + 0.01);
    gain.gain.setValueAtTime(0.5, now + begin + length - 0.02);
    gain.gain.linearRampToValueAtTime(0, now + begin + length);
    source.connect(gain).connect(audio.destination);
    source.start(now + begin);
    source.stop(now + begin + length);
  }
}

// Symbols as they are read out.
const spoken = [
  [/N·m/g, " newton metres"], [/lbf·ft/g, " pound feet"], [/lbf·in/g, " pound inches"],
  [/kgf·m/g, " kilopond metres"], [/°/g, " degrees"], [/\bmm\b/g, " millimetres"],
  [/\s*\([^)]*\)/g, ""], [/(\d)\.0\b/g, "$1"],
];

export const as_spoken = (text) =>
  spoken.reduce((said, [symbol, word]) => said.replace(symbol, word), text).replace(/\s+/g, " ").trim();

export function speak(text) {
  if (!settings.speech || !("speechSynthesis" in window)) return;
  speechSynthesis.cancel();
  speechSynthesis.speak(new SpeechSynthesisUtterance(as_spoken(text)));
}
