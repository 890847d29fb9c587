// What reaches eyes and ears: verdicts told apart by those who see few colours, contrast of every
// text, tones that differ, words as they are spoken.
import { join } from "node:path";
import { Bench, by_page, check, here, main, open, set, small, until, work } from "./bench.mjs";

// Dichromats at full severity, in linear RGB: G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, "A
// Physiologically-based Model for Simulation of Color Vision Deficiency", 2009; from memory, the
// paper not seen, the figures as several published programs have them.
const visions = {
  "all colours": [[1, 0, 0], [0, 1, 0], [0, 0, 1]],
  protanopia: [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
  deuteranopia: [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.01182, 0.04294, 0.968881]],
  tritanopia: [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.3039]],
  // Relative luminance, as WCAG 2.x has it: no colour at all.
  grey: [[0.2126, 0.7152, 0.0722], [0.2126, 0.7152, 0.0722], [0.2126, 0.7152, 0.0722]],
};

const linear = (c) => (c / 255 <= 0.04045 ? c / 255 / 12.92 : ((c / 255 + 0.055) / 1.055) ** 2.4);
const seen_by = (matrix, [r, g, b]) => {
  const [lr, lg, lb] = [linear(r), linear(g), linear(b)];
  return matrix.map((row) => Math.min(1, Math.max(0, row[0] * lr + row[1] * lg + row[2] * lb)));
};
const luminance = ([r, g, b]) => 0.2126 * r + 0.7152 * g + 0.0722 * b;
const contrast = (a, b) => (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);

// The pixels of a part of the page, scaled to one size.
async function pixels(reader, page, selector, width, height) {
  const png = await page.locator(selector).screenshot();
  return reader.evaluate(async ([data, w, h]) => {
    const image = new Image();
    image.src = `data:image/png;base64,${data}`;
    await image.decode();
    const canvas = new OffscreenCanvas(w, h);
    const at = canvas.getContext("2d");
    at.drawImage(image, 0, 0, w, h);
    return [...at.getImageData(0, 0, w, h).data];
  }, [png.toString("base64"), width, height]);
}

const luminances = (px, matrix) => Array.from({ length: px.length / 4 }, (_, i) => luminance(seen_by(matrix, px.slice(4 * i, 4 * i + 3))));

// Each verdict's badge as pixels: legible to everyone, and no two alike in shape.
async function verdicts_without_colour(chromium) {
  const bench = new Bench(small);
  const page = await open(chromium, await bench.start([]));
  const reader = await page.context().newPage();
  const words = ["pass", "low", "high", "suspect"];
  for (const theme of ["day", "night"]) {
    await page.evaluate((t) => { document.documentElement.dataset.theme = t; }, theme);
    const badges = {};
    for (const word of words) {
      await page.evaluate(async (w) => {
        const { verdict_view } = await import("/verdict.js");
        const view = verdict_view({ word: w, place: 3, label: "3", peak_Nm: 40, reasons: [] }, "why", { own: "N·m", own_per_Nm: 1, other: "lbf·ft", other_per_Nm: 0.7 });
        const main = document.getElementById("main");
        main.className = "held";
        main.replaceChildren(view);
      }, word);
      badges[word] = {
        text: (await page.textContent(".verdict .word")).trim(),
        whole: await pixels(reader, page, ".verdict .word", 160, 40),
        sign: await pixels(reader, page, ".verdict .word .sign", 32, 32),
      };
    }
    check(new Set(words.map((w) => badges[w].text)).size === 4, "two verdicts have one word");
    for (const [name, matrix] of Object.entries(visions)) {
      for (const word of words) {
        const all = luminances(badges[word].whole, matrix).sort((a, b) => a - b);
        const ratio = contrast(all[Math.floor(0.02 * all.length)], all[Math.floor(0.98 * all.length)]);
        check(ratio >= 4.5, `${word}, ${theme}, ${name}: contrast ${ratio.toFixed(2)}`);
      }
      for (const [i, one] of words.entries()) {
        for (const two of words.slice(i + 1)) {
          const [a, b] = [one, two].map((w) => shape_of(luminances(badges[w].sign, matrix)));
          const differ = a.filter((ink, k) => ink !== b[k]).length / a.length;
          check(differ >= 0.08, `${one} and ${two}, ${theme}, ${name}: signs differ in ${(100 * differ).toFixed(1)} % of their pixels`);
          if (process.env.BW_FIGURES) console.log(`  ${theme}, ${name}: signs of ${one} and ${two} differ in ${(100 * differ).toFixed(0)} %`);
        }
      }
      const tone = (word) => luminances(badges[word].whole, matrix).reduce((sum, v) => sum + v, 0) / (160 * 40);
      for (const bad of ["low", "high"]) {
        const ratio = contrast(tone("pass"), tone(bad));
        check(ratio >= 1.5, `pass and ${bad}, ${theme}, ${name}: the badges have one tone (${ratio.toFixed(2)})`);
        if (process.env.BW_FIGURES) console.log(`  ${theme}, ${name}: badges of pass and ${bad} differ in tone by ${ratio.toFixed(2)}`);
      }
    }
  }
  await bench.end();

  // Ink or not, whichever of the two is darker: a filled badge has the same shape as an open one.
  function shape_of(levels) {
    const corner = levels[0];
    const far = Math.max(...levels.map((v) => Math.abs(v - corner)));
    return levels.map((v) => Math.abs(v - corner) > far / 2);
  }
}

// Every text against what stands behind it: 4.5, large text 3 (WCAG 2.2, 1.4.3, AA). Gradients
// count with the worst of their colours.
async function poor_contrasts(page) {
  return page.evaluate(() => {
    const parse = (text) => (text.match(/[\d.]+/g) ?? []).map(Number);
    const over = ([r, g, b, a = 1], under) => [r, g, b].map((c, i) => c * a + under[i] * (1 - a));
    const linear = (c) => (c / 255 <= 0.04045 ? c / 255 / 12.92 : ((c / 255 + 0.055) / 1.055) ** 2.4);
    const luminance = (rgb) => 0.2126 * linear(rgb[0]) + 0.7152 * linear(rgb[1]) + 0.0722 * linear(rgb[2]);
    const ratio = (a, b) => (Math.max(luminance(a), luminance(b)) + 0.05) / (Math.min(luminance(a), luminance(b)) + 0.05);
    const behind = (element) => { // all that may stand behind it
      const style = getComputedStyle(element);
      const under = element.parentElement ? behind(element.parentElement) : [[255, 255, 255]];
      if (style.backgroundImage.includes("gradient")) return style.backgroundImage.match(/rgba?\([^)]*\)/g).map((c) => over(parse(c), [255, 255, 255]));
      const body = element.namespaceURI.endsWith("svg") ? [...element.parentNode.children].find((n) => n !== element && ["circle", "rect"].includes(n.tagName) && element.classList.contains("number")) : null;
      if (body) return [over(parse(getComputedStyle(body).fill), under[0])];
      const colour = parse(style.backgroundColor);
      return colour[3] === 0 ? under : under.map((u) => over(colour, u));
    };
    const poor = [];
    let n = 0;
    const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    while (texts.nextNode()) {
      const element = texts.currentNode.parentElement;
      const box = element?.getBoundingClientRect();
      if (texts.currentNode.data.trim() === "" || element.closest("title, script, .unseen, dialog:not([open])") || box.width === 0 || box.height === 0) continue;
      const style = getComputedStyle(element);
      const colour = parse(element.namespaceURI.endsWith("svg") ? style.fill : style.color);
      const size = parseFloat(style.fontSize);
      const large = size >= 24 || (size >= 18.66 && Number(style.fontWeight) >= 700);
      const least = Math.min(...behind(element).map((under) => ratio(over(colour, under), under)));
      n++;
      if (least < (large ? 3 : 4.5)) poor.push(`"${texts.currentNode.data.trim().slice(0, 30)}" (${element.tagName}.${element.className.baseVal ?? element.className}) ${least.toFixed(2)}`);
    }
    return { poor, n };
  });
}

async function contrast_of_every_text(chromium) {
  const bench = new Bench(small);
  const page = await open(chromium, await bench.start(["reading", "note", "ask"]));
  let n = 0;
  const look = async (what, themes = ["day", "night"]) => {
    for (const theme of themes) {
      await page.evaluate((t) => { document.documentElement.dataset.theme = t; }, theme);
      const found = await poor_contrasts(page);
      check(found.poor.length === 0, `${what}, ${theme}: ${found.poor.join("; ")}`);
      check(found.n > 5, `${what}: only ${found.n} texts`);
      n += found.n;
    }
  };
  await set(page, { pause_s: 0 });
  bench.tell("acts_on", { states: [] });
  for (const stop of ["state-confirm", "state-note", "state-ask", "state-reading", "state-pull"]) {
    await work(page, (name) => name === stop, by_page);
    await look(stop);
    if (stop === "state-reading") {
      await page.fill("#entry", "99");
      await page.waitForSelector(".echo.odd");
      await look("what is not plausible");
    }
  }
  for (const panel of ["Last steps", "Open", "Screen"]) {
    await page.click(`#tools >> text=${panel}`);
    await look(panel);
    await page.keyboard.press("Escape");
  }
  await page.click("#actions >> text=More");
  await look("More");
  await page.keyboard.press("Escape");
  for (const [name, torque_Nm] of [["go", 10], ["near", 17.6], ["stop", 20], ["over", 26]]) {
    bench.tell("hold", { torque_Nm, turn_deg: torque_Nm });
    await page.waitForFunction((w) => document.body.dataset.word === w, name);
    await look(`pulling: ${name}`);
  }
  bench.tell("release");
  await until(page, "state-verdict");
  await look("verdict");
  for (const word of ["pass", "low", "suspect"]) {
    await page.evaluate(async (w) => {
      const { verdict_view } = await import("/verdict.js");
      document.querySelector(".verdict").replaceWith(verdict_view({ word: w, place: 3, label: "3", peak_Nm: 40, reasons: [] }, "why", undefined));
    }, word);
    await look(word);
  }
  console.log(`  ${n} texts looked at`);
  await bench.end();
}

// ---- ears ----

// A sound card that writes down what it is asked to play.
const stub_audio = () => {
  window.played = [];
  window.AudioContext = class {
    state = "suspended";
    currentTime = 0;
    destination = {};
    resume() { this.state = "running"; }
    createGain() {
      const levels = [];
      const at = (level) => levels.push(level);
      return { levels, gain: { setValueAtTime: at, linearRampToValueAtTime: at }, connect: (to) => to };
    }
    createOscillator() {
      const one = { frequency: { value: 0 }, type: "sine", connect: (gain) => (one.gain = gain, gain) };
      one.start = (from) => { one.from = from; };
      one.stop = (to) => window.played.push({ hz: one.frequency.value, type: one.type, from: one.from, to, loud: Math.max(...one.gain.levels) });
      return one;
    }
  };
};

async function tones(chromium) {
  const bench = new Bench(small);
  const url = await bench.start(["confirm", "note", "ask", "reading"]);
  const context = await chromium.newContext({ viewport: { width: 1280, height: 800 } });
  await context.addInitScript(stub_audio);
  const page = await context.newPage();
  await page.goto(url);
  await until(page, "state-pull");
  const heard = async (word, torque_Nm) => {
    await page.evaluate(() => { window.played.length = 0; });
    bench.tell("hold", { torque_Nm, turn_deg: torque_Nm });
    await page.waitForFunction((w) => document.body.dataset.word === w, word);
    return page.evaluate(() => window.played.splice(0));
  };
  const release = async () => {
    bench.tell("release");
    await until(page, "state-verdict");
    const played = await page.evaluate(() => window.played.splice(0));
    const next = bench.next((e) => e.event?.state === "pull");
    bench.tell("loosen");
    bench.tell("answer", { line: "loosen" });
    await next;
    await until(page, "state-pull");
    return played;
  };
  check((await heard("near", 17.6)).length === 0, "it plays before anybody has touched it");
  await heard("over", 26);
  await release();
  await page.keyboard.press("Shift"); // browsers give sound after a first key
  const near = await heard("near", 17.6);
  const stop = await heard("stop", 20);
  const over = await heard("over", 26);
  const bad = await release();
  const rhythm = (played) => played.map((p) => `${p.from.toFixed(2)}-${p.to.toFixed(2)}`).join();
  const all = { near, stop, over, bad };
  for (const [name, played] of Object.entries(all)) {
    check(played.length > 0 && played.every((p) => p.loud >= 0.3 && p.to - p.from >= 0.05 && p.hz >= 200 && p.hz <= 2000), `${name}: ${JSON.stringify(played)}`);
  }
  check(new Set(Object.values(all).map(rhythm)).size === 4, `two tones have one rhythm: ${JSON.stringify(all)}`);
  check(new Set([near, stop, over].map((p) => p[0].hz)).size === 3, "two tones have one pitch");
  await page.click("#tools >> text=Screen");
  await page.click('dialog [aria-label="Tones"] button:text-is("Mute")');
  await page.keyboard.press("Escape");
  for (const [word, torque_Nm] of [["near", 17.6], ["stop", 20], ["over", 26]]) {
    check((await heard(word, torque_Nm)).length === 0, `muted, and ${word} is heard`);
  }
  check((await release()).length === 0, "muted, and the verdict is heard");
  await page.click("#tools >> text=Screen");
  await page.click('dialog [aria-label="Tones"] button:text-is("On")');
  await page.keyboard.press("Escape");
  check((await heard("near", 17.6)).length > 0, "no tone after it was muted and is on again");
  await bench.end();
}

async function speech(chromium) {
  const bench = new Bench({ sequence: join(here, "spoken.lua") });
  const url = await bench.start([]);
  const context = await chromium.newContext({ viewport: { width: 1280, height: 800 } });
  await context.addInitScript(() => {
    localStorage.setItem("bench", JSON.stringify({ speech: true, pause_s: 1 }));
    window.said = [];
    window.SpeechSynthesisUtterance = class { constructor(text) { this.text = text; } };
    Object.defineProperty(window, "speechSynthesis", { value: { cancel: () => window.said.push("(cancel)"), speak: (u) => window.said.push(u.text) } });
  });
  const page = await context.newPage();
  await page.goto(url);
  await until(page, "state-confirm");
  const last = () => page.evaluate(() => window.said.at(-1));
  check(await last() === "Caps on, oil on the threads.", `said: ${await last()}`);
  await page.click("#actions .primary");
  await until(page, "state-pull");
  check(await last() === "main cap, 4, stage 1, 28 pound feet, then 90 degrees", `said: ${await last()}`);
  check(await page.evaluate(() => window.said.at(-2)) === "(cancel)", "it talks over what it said before");
  const next = bench.next((e) => e.event?.state === "pull");
  bench.tell("act");
  await next;
  await page.waitForFunction(() => window.said.includes("pass"));
  await page.waitForFunction(() => window.said.at(-1).startsWith("main cap"));
  check(await last() === "main cap, 4, stage 2, 60 newton metres", `said: ${await last()}`);
  await bench.end();
}

await main([verdicts_without_colour, contrast_of_every_text, tones, speech]);
