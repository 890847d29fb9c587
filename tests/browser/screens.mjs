// What is seen: sizes, zoom, grey, keyboard, screen readers, texts that want to be more than text.
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { Bench, by_page, check, here, main, open, set, shoot, small, until, work } from "./bench.mjs";

async function at_pull(chromium, options) {
  const bench = new Bench(small);
  const page = await open(chromium, await bench.start([]), options);
  await set(page, { pause_s: 0 });
  await work(page, (name) => name === "state-pull", by_page);
  return { bench, page };
}

// Nothing sticks out sideways, what is to be pressed is there and large enough.
async function fits(page, what, least_px) {
  const found = await page.evaluate((least) => {
    const wide = document.documentElement.scrollWidth - document.documentElement.clientWidth;
    const small = [...document.querySelectorAll("#actions button, .keys button, #tools button")].map((b) => {
      const box = b.getBoundingClientRect();
      return { text: b.textContent, width: box.width, height: box.height, out: box.left < -1 || box.right > innerWidth + 1 };
    }).filter((b) => b.height < Math.min(least, 44) || b.width < 44 || b.out);
    const work = [...document.querySelectorAll("#actions button")].filter((b) => b.getBoundingClientRect().height < least).length;
    return { wide, small, work };
  }, least_px);
  check(found.wide <= 0, `${what}: ${found.wide} px stick out sideways`);
  check(found.small.length === 0, `${what}: too small or outside: ${JSON.stringify(found.small)}`);
  check(found.work === 0, `${what}: ${found.work} answers are lower than ${least_px} px`);
}

// Entry, every digit and Save lie whole inside the window and under nothing else, without scrolling.
async function keys_in_reach(page, what) {
  const lost = await page.evaluate(() => [...document.querySelectorAll('#entry, .keys[aria-label="Keypad"] button, #actions .primary')].filter((key) => {
    const box = key.getBoundingClientRect();
    const hit = [[0.5, 0.5], [0.1, 0.1], [0.9, 0.9]].every(([x, y]) => key === document.elementFromPoint(box.left + x * box.width, box.top + y * box.height)?.closest("input, button"));
    return !hit || box.top < 0 || box.left < 0 || box.bottom > innerHeight || box.right > innerWidth;
  }).map((key) => key.textContent || key.id));
  check(lost.length === 0, `at ${what} out of reach: ${lost}`);
}

async function every_size(chromium) {
  const sizes = [["desk", 1280, 800, 57], ["tablet", 1024, 600, 57], ["phone", 390, 844, 57], ["small phone", 360, 740, 57], ["zoom 200 %", 640, 400, 44]];
  const bench = new Bench(small);
  const page = await open(chromium, await bench.start([]));
  await set(page, { pause_s: 0 });
  for (const stop of ["state-confirm", "state-note", "state-ask", "state-reading", "state-pull"]) {
    await work(page, (name) => name === stop, by_page);
    for (const [name, width, height, least] of sizes) {
      await page.setViewportSize({ width, height });
      await fits(page, `${stop} at ${name}`, least);
      if (stop === "state-reading") await keys_in_reach(page, name);
      await shoot(page, `${stop}-${name}`);
    }
  }
  await bench.end();
}

// 8.7 mm at 96 px an inch is 33 px: what has to be read from where the engine stands.
async function read_from_afar(chromium) {
  const { bench, page } = await at_pull(chromium, { viewport: { width: 1920, height: 1080 } });
  const size = (selector) => page.evaluate((s) => parseFloat(getComputedStyle(document.querySelector(s)).fontSize), selector);
  for (const what of [".place-name", ".big .own", ".limits", ".fact dd", "#actions .pull-now"]) {
    check(await size(what) >= 33, `${what} is ${await size(what)} px`);
  }
  bench.tell("hold", { torque_Nm: 12, turn_deg: 8 });
  await until(page, "pulling");
  check(await size(".pulling .value") >= 189, `the figure is ${await size(".pulling .value")} px, less than 50 mm`);
  check(await size(".pulling .word") >= 120, `the word is ${await size(".pulling .word")} px`);
  await bench.end();
}

// Live words and verdicts are told apart without colour: by word, by shape, and in grey by tone.
async function without_colour(chromium) {
  const { bench, page } = await at_pull(chromium);
  const session = await page.context().newCDPSession(page);
  const seen = new Map();
  const mean = async () => {
    await page.addStyleTag; // the page allows no style from outside: the picture is measured instead
    const png = await page.screenshot();
    return page.context().newPage().then(async (p) => {
      const grey = await p.evaluate(async (data) => {
        const image = new Image();
        image.src = `data:image/png;base64,${data}`;
        await image.decode();
        const canvas = new OffscreenCanvas(64, 64);
        const at = canvas.getContext("2d");
        at.drawImage(image, 0, 0, 64, 64);
        const { data: px } = at.getImageData(0, 0, 64, 64);
        let sum = 0;
        for (let i = 0; i < px.length; i += 4) sum += 0.2126 * px[i] + 0.7152 * px[i + 1] + 0.0722 * px[i + 2];
        return sum / (px.length / 4);
      }, png.toString("base64"));
      await p.close();
      return grey;
    });
  };
  for (const [name, torque_Nm] of [["go", 10], ["near", 17.6], ["stop", 20], ["over", 26]]) {
    bench.tell("hold", { torque_Nm, turn_deg: torque_Nm });
    await page.waitForFunction((n) => document.body.dataset.word === n, name);
    seen.set(name, { word: await page.textContent(".word"), shape: await page.getAttribute(".word svg", "class"), grey: await mean() });
  }
  for (const type of ["deuteranopia", "protanopia", "tritanopia", "achromatopsia"]) {
    await session.send("Emulation.setEmulatedVisionDeficiency", { type });
    await shoot(page, `over-${type}`);
  }
  await session.send("Emulation.setEmulatedVisionDeficiency", { type: "none" });
  check(new Set([...seen.values()].map((s) => s.word)).size === 4, "two live words are one");
  check(new Set([...seen.values()].map((s) => s.shape)).size === 4, "two live shapes are one");
  check(seen.get("near").grey - seen.get("stop").grey > 60, "near and stop have one tone");
  check(seen.get("go").grey - seen.get("over").grey > 60, "go on and over have one tone");
  const there = bench.next((e) => e.event?.state === "verdict");
  bench.tell("release");
  await there;
  await until(page, "state-verdict");
  check((await page.textContent(".verdict .word")).includes("HIGH"), "the verdict's word is not there");
  check(await page.locator(".verdict .sign-over").count() === 1, "the verdict's shape is not there");
  await bench.end();
}

// The whole way to the first pull, and a decision, without a pointer.
async function keyboard_only(chromium) {
  const bench = new Bench(small);
  const page = await open(chromium, await bench.start([]));
  const key = async (name) => (await page.waitForTimeout(400), page.keyboard.press(name));
  await key("b"); // a foot switch may send anything
  await until(page, "state-note");
  await page.keyboard.type("WINCH-7");
  await page.keyboard.press("Enter");
  await until(page, "state-ask");
  await page.evaluate(() => document.activeElement?.blur());
  for (let i = 0; i < 12 && !(await page.evaluate(() => document.activeElement?.classList.contains("option"))); i++) await page.keyboard.press("Tab");
  await page.keyboard.press("Enter");
  await until(page, "state-reading");
  await page.keyboard.type("0,25 mm");
  await page.waitForSelector(".echo.good");
  check((await page.textContent(".echo")).includes("thou"), "the other unit is not echoed");
  await page.keyboard.press("Enter");
  await page.waitForFunction(() => document.querySelector(".where .done"));
  await page.keyboard.type("12 in");
  await page.waitForSelector(".echo.odd");
  await page.keyboard.press("Control+A");
  await page.keyboard.type("9.9 thou");
  await page.waitForSelector(".echo.good");
  await page.keyboard.press("Enter");
  await until(page, "state-confirm");
  await key("Backspace");
  await until(page, "state-reading");
  check(await page.locator(".where .done").count() === 1, "the last reading was not taken back alone");
  await page.keyboard.type("0.26");
  await page.keyboard.press("Enter");
  await until(page, "state-confirm");
  await key("Space");
  await until(page, "state-pull");
  await bench.end();
}

async function screen_readers(chromium) {
  const axe = readFileSync(join(here, "node_modules", "axe-core", "axe.min.js"), "utf8");
  const bench = new Bench(small);
  const page = await open(chromium, await bench.start([]));
  const look = async (what) => {
    await page.evaluate(axe);
    const { violations } = await page.evaluate(() => globalThis.axe.run());
    const bad = violations.filter((v) => ["serious", "critical"].includes(v.impact));
    check(bad.length === 0, `${what}: ${JSON.stringify(bad.map((v) => [v.id, v.nodes.map((n) => n.html).slice(0, 2)]))}`);
  };
  await set(page, { pause_s: 0 });
  for (const stop of ["state-confirm", "state-note", "state-ask", "state-reading", "state-pull"]) {
    await work(page, (name) => name === stop, by_page);
    for (const theme of ["day", "night"]) {
      await page.evaluate((t) => { document.documentElement.dataset.theme = t; }, theme);
      await look(`${stop}, ${theme}`);
    }
  }
  for (const torque_Nm of [10, 17.6, 20, 26]) {
    bench.tell("hold", { torque_Nm, turn_deg: torque_Nm });
    await page.waitForTimeout(150);
    await look(`pulling to ${torque_Nm}`);
  }
  const there = bench.next((e) => e.event?.state === "verdict");
  bench.tell("release");
  await there;
  await until(page, "state-verdict");
  await look("verdict");
  for (const panel of ["Last steps", "Open", "Screen"]) {
    await page.click(`#tools >> text=${panel}`);
    await look(panel);
    await page.keyboard.press("Escape");
  }
  await bench.end();
}

// What is said aloud is what a person would say; nothing is said unless it is wanted.
async function said_aloud(chromium) {
  const bench = new Bench(small);
  const page = await open(chromium, await bench.start([]));
  await page.evaluate(() => {
    window.said = [];
    speechSynthesis.speak = (words) => window.said.push(words.text);
  });
  await page.click("#actions .primary");
  await until(page, "state-note");
  check((await page.evaluate(() => window.said.length)) === 0, "it speaks though nobody wants it to");
  await page.click("#tools >> text=Screen");
  await page.click('dialog [aria-label="Speech"] >> text=On');
  await page.keyboard.press("Escape");
  await work(page, (name) => name === "state-pull", by_page);
  const said = await page.evaluate(() => window.said);
  check(said.at(-1) === "flange bolts, 1, stage 1, 20 newton metres", `said: ${said.at(-1)}`);
  const spoken = await page.evaluate(async () => {
    const { as_spoken } = await import("/sound.js");
    return ["60.0 N·m (44.3 lbf·ft)", "28 lbf·ft, then 90°", "0.063 mm"].map(as_spoken);
  });
  check(spoken.join() === "60 newton metres,28 pound feet, then 90 degrees,0.063 millimetres", `spoken: ${spoken}`);
  await bench.end();
}

// The part that is measured is drawn, with the asked point told by shape and word, and what was read.
async function where_to_measure(chromium) {
  const bench = new Bench({ sequence: join(here, "places.lua") });
  const page = await open(chromium, await bench.start([]));
  const shown = () => page.evaluate(() => {
    const names = (selector) => [...document.querySelectorAll(`.where ${selector}`)].map((n) => n.textContent);
    const figure = document.querySelector(".where");
    return {
      body: figure?.className.match(/body-(\S+)/)?.[1], drawn: document.querySelectorAll(".where .body, .where .picture svg").length > 0,
      next: names(".point.next"), shapes: document.querySelectorAll(".where .point.next .sign-near").length, marks: document.querySelectorAll(".where .at-next .mark").length,
      done: names(".point.done"), ticks: document.querySelectorAll(".where .point.done .sign-pass").length, waits: names(".point.waits"), heads: names("th"),
      h1: document.querySelector("h1").textContent,
    };
  });
  const read = async (number) => {
    const before = await page.evaluate(() => document.getElementById("main").dataset.prompts);
    await page.fill("#entry", number);
    await page.click("#actions .primary");
    await page.waitForFunction((b) => document.getElementById("main").dataset.prompts !== b, before);
  };
  const holds = (what, seen, wanted) => {
    for (const [name, value] of Object.entries(wanted)) check(JSON.stringify(seen[name]) === JSON.stringify(value), `${what}, ${name}: ${JSON.stringify(seen[name])}, not ${JSON.stringify(value)}`);
    check(seen.shapes === 1 && seen.next.length === 1 && seen.ticks === seen.done.length, `${what}: ${JSON.stringify(seen)}`);
    check(seen.marks === (seen.drawn ? 1 : 0), `${what}: ${seen.marks} marks in the drawing`);
  };
  for (let i = 0; i < 4; i++) await read(`86.01${i}`);
  holds("the bore", await shown(), { body: "bore", drawn: true, heads: ["across", "along", "top", "middle", "bottom"], next: ["here"], done: ["86.010", "86.013", "86.011", "86.012"], waits: ["–"] });
  await shoot(page, "where-bore");
  for (let i = 0; i < 2; i++) await read("86.010");
  await read("86.010");
  holds("repeats", await shown(), { body: "bore", heads: ["along", "across", "top", "foot"], next: ["here 2/2"], done: [] });
  for (let i = 0; i < 8; i++) await read("86.010");
  const second = await shown();
  holds("the second bore", second, { heads: ["along", "across", "top", "foot"], done: [], waits: ["–", "–", "–"] });
  check(second.h1.includes("2 top along"), `which bore: ${second.h1}`);
  for (let i = 0; i < 7; i++) await read("86.010");
  holds("the journal", await shown(), { body: "shaft", drawn: true, heads: ["front", "rear", "upright", "level"], waits: ["–", "–", "–"] });
  await shoot(page, "where-journal");
  for (let i = 0; i < 4; i++) await read("47.950");
  for (const [body, n, number] of [["end-gap", 1, "0.35"], ["face", 4, "0.02"], ["round", 4, "0.30"], ["float", 2, "0.12"]]) {
    await read_on(body, n, number);
  }
  async function read_on(body, n, number) {
    holds(body, await shown(), { body, drawn: true });
    for (let i = 0; i < n; i++) await read(number);
  }
  holds("springs", await shown(), { body: "table", drawn: false, heads: ["inlet", "exhaust", "1", "2"] });
  check(page.complaints.length === 0, page.complaints.join("; "));
  await bench.end();
}

// A long name is not lost: the header keeps its height, and the whole stands in a panel.
async function long_names(chromium) {
  const bench = new Bench({ sequence: join(here, "places.lua"), build: "heron-3-after-the-winter-refit-with-the-second-short-block" });
  const page = await open(chromium, `${await bench.start([])}watch`); // with one flag more
  for (const [width, height] of [[1280, 800], [1024, 600], [390, 844], [360, 740], [640, 400]]) {
    await page.setViewportSize({ width, height });
    await fits(page, `long names at ${width}`, 44);
    const strip = await page.evaluate(() => document.getElementById("strip").getBoundingClientRect().height);
    const lost = await page.evaluate(() => [...document.querySelectorAll(".flag")].filter((flag) => {
      const box = flag.getBoundingClientRect();
      return document.elementFromPoint(box.left + 2, box.top + box.height / 2) !== flag || document.elementFromPoint(box.right - 2, box.bottom - 2) !== flag;
    }).length);
    check(lost === 0 && await page.locator(".flag").count() === 2, `at ${width} a flag can't be read`);
    check(strip <= 130, `at ${width} the header is ${strip} px high`);
  }
  await page.click("#tools >> text=Open");
  const text = await page.textContent("dialog .facts");
  for (const whole of ["heron-3-after-the-winter-refit-with-the-second-short-block", "Places where a gauge is held, one of each that is drawn, in a title that is longer than any header", "A. Lund"]) {
    check(text.includes(whole), `not in the panel: ${whole}`);
  }
  check(await page.evaluate(() => { const d = document.querySelector("dialog"); return d.scrollWidth <= d.clientWidth; }), "the panel sticks out sideways");
  await bench.end();
}

async function texts_stay_texts(chromium) {
  const bench = new Bench({ sequence: join(here, "hostile.lua"), person: "<img src=x onerror=window.owned=1>" });
  const page = await open(chromium, await bench.start(["pull"]));
  await set(page, { pause_s: 0 });
  const panels = async () => {
    for (const panel of ["Last steps", "Open"]) {
      await page.click(`#tools >> text=${panel}`);
      await page.keyboard.press("Escape");
    }
  };
  let seen = "";
  await work(page, (name) => name === "ended", {
    ...by_page,
    note: async (p) => (await p.fill("#entry", "<script>window.owned=1</script>"), p.click("#actions .primary")),
    reading: async (p) => (await panels(), by_page.reading(p)),
    value: async (p) => (seen += await p.textContent("body"), p.click('#actions button:has-text("override")')),
    second_person: async (p) => (await p.fill("#entry", "B. Roth <b>"), p.click("#actions .primary")),
    reason: async (p) => (await p.fill("#entry", "<svg onload=window.owned=1>"), p.click("#actions .primary")),
    confirm: async (p) => (seen += await p.textContent("body"), await panels(), by_page.confirm(p)),
  });
  check(await page.evaluate(() => window.owned) === undefined, "a text was run");
  check(seen.includes("<img src=x onerror=window.owned=1>"), "a text is not shown as it stands");
  check(await page.locator("#main img, #main script, dialog script, dialog img").count() === 0, "a text became an element");
  check(page.complaints.length === 0, page.complaints.join("; "));
  await bench.end();
}

await main([every_size, read_from_afar, without_colour, keyboard_only, screen_readers, said_aloud, where_to_measure, long_names, texts_stay_texts]);
