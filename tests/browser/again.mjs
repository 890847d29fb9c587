// What is done again: used bolts, of which some are new; a step with what stands on it; a retorque.
import { join } from "node:path";
import { Bench, by_page, check, click, here, main, open, set, shoot, until, work } from "./bench.mjs";

const again = { sequence: join(here, "again.lua") };
const sizes = { desk: [1280, 800], tablet: [1024, 600], phone: [390, 844] };

// In each size and theme: nothing sticks out, every button is whole inside its place and large enough.
async function looks_well(page, name, buttons) {
  for (const [size, [width, height]] of Object.entries(sizes)) {
    await page.setViewportSize({ width, height });
    for (const theme of ["day", "night"]) {
      await page.evaluate((t) => { document.documentElement.dataset.theme = t; }, theme);
      await shoot(page, `again-${name}-${size}-${theme}`);
    }
    const found = await page.evaluate((selector) => ({
      wide: [document.documentElement, document.querySelector("dialog[open]")].filter((n) => n && n.scrollWidth > n.clientWidth).length,
      small: [...document.querySelectorAll(selector)].filter((b) => {
        const box = b.getBoundingClientRect();
        return box.height < 57 || box.width < 57 || b.scrollWidth > b.clientWidth || b.scrollHeight > b.clientHeight;
      }).map((b) => b.textContent),
    }), buttons);
    check(found.wide === 0, `${name} at ${size} sticks out sideways`);
    check(found.small.length === 0, `${name} at ${size}, too small: ${found.small}`);
  }
  await page.setViewportSize({ width: 1280, height: 800 });
}

async function at_reuse(chromium) {
  const bench = new Bench(again);
  const page = await open(chromium, await bench.start([]));
  await set(page, { pause_s: 0 });
  await work(page, (name) => name === "state-ask", by_page);
  return { bench, page };
}

async function at_pull(chromium) {
  const { bench, page } = await at_reuse(chromium);
  const asked = bench.next((e) => e.event?.state === "pull"); // the page may be ahead of the hands
  await click("checked")(page);
  await asked;
  await until(page, "state-pull");
  return { bench, page };
}

const pulled = async (bench, state, share = 1) => {
  const next = bench.next((e) => e.event?.state === state);
  bench.tell("pull", { share });
  await next;
};

async function some_bolts_are_new(chromium) {
  const { bench, page } = await at_reuse(chromium);
  check(!(await page.textContent("#actions")).includes("3, 7"), "the page speaks of what is typed at a terminal");
  await looks_well(page, "reuse", "#actions button");
  await click("replaced")(page);
  const save = page.locator("dialog .primary");
  check(await save.isDisabled(), "none is named, and it can be saved");
  for (const place of ["3 · far", "1 · near", "1 · near"]) await page.click(`dialog .places button:has-text("${place}")`);
  check(await save.textContent() === "Save: 1 new, 2 checked", `the button says ${await save.textContent()}`);
  await looks_well(page, "replaced", "dialog .content button");
  await save.click();
  await until(page, "state-pull");
  const told = (await bench.ask("entries", "entries")).filter((e) => e.typed?.startsWith("replaced"));
  check(told.length > 0 && told.every((e) => e.typed === "replaced far"), `the record has ${JSON.stringify(told)}`);
  check(page.complaints.length === 0, page.complaints.join("; "));
  await bench.end();
}

async function redo(page, why) {
  await page.click('#actions button:has-text("More")');
  await page.click('dialog button:has-text("Redo")');
  await page.click('dialog button:has-text("1. Clean the drum flange.")');
  await page.fill("dialog input", why);
  await page.click("dialog .primary");
  await page.waitForSelector('dialog[open] h2:has-text("Open all of this again?")');
}

async function a_step_is_done_anew(chromium) {
  const { bench, page } = await at_pull(chromium);
  await pulled(bench, "pull");
  const redone = async () => (await bench.ask("entries", "entries")).filter((e) => e.kind === "step_redone");
  await page.click('#actions button:has-text("More")');
  await page.click('dialog button:has-text("Redo")');
  await looks_well(page, "redo-which", "dialog .content button");
  await page.keyboard.press("Escape");
  await redo(page, "oil on the flange");
  const text = await page.textContent("dialog");
  check(text.includes("1. Clean") && text.includes("2. Tighten") && text.includes("loosen first"), `what falls is not said: ${text}`);
  await looks_well(page, "redo-again", "dialog .content button");
  await page.click('dialog >> text="Leave it as it is"');
  check(await page.textContent("#said") === "", "the page speaks of what is typed at a terminal");
  check((await redone()).length === 0, "a step was opened again that was to be left");
  await redo(page, "oil on the flange");
  await page.click('dialog >> text="Open again"');
  await until(page, "state-confirm");
  const [entry, ...more] = await redone();
  check(more.length === 0 && entry.step === "clean" && entry.reason === "oil on the flange", `the record has ${JSON.stringify(entry)}`);
  check(page.complaints.length === 0, page.complaints.join("; "));
  await bench.end();
}

async function what_is_due_is_said(chromium) {
  const { bench, page } = await at_pull(chromium);
  for (const state of ["pull", "pull", "close"]) await pulled(bench, state);
  await until(page, "state-close");
  await by_page.close(page);
  await page.waitForSelector("#main.ended");
  const text = await page.textContent("#main");
  for (const part of ["complete", "drum bolts: ", "after the first hour of hauling", "--retorque drum"]) check(text.includes(part), `not said: ${part}; but ${text}`);
  await looks_well(page, "due", "#actions button");
  const due = (await bench.ask("entries", "entries")).filter((e) => e.kind === "retorque_due");
  check(due.length === 1 && text.includes(due[0].due), `the record has ${JSON.stringify(due)}`);
  await bench.end();
}

// The answers at a verdict leave the reason to be read to its last line.
async function a_reason_can_be_read(chromium) {
  const { bench, page } = await at_pull(chromium);
  await pulled(bench, "verdict", 1.3);
  await until(page, "state-verdict");
  check(!(await page.textContent("#actions")).includes("another 5"), "the page speaks of what is typed at a terminal");
  await looks_well(page, "verdict", "#actions button");
  await page.setViewportSize({ width: 390, height: 844 });
  const seen = await page.evaluate(() => {
    const box = (selector) => document.querySelector(selector).getBoundingClientRect();
    return { reason: box(".because").bottom, answers: box("#actions").top, last: box("#actions .option:last-of-type").bottom, curve: box(".right").top, high: innerHeight };
  });
  check(seen.reason <= seen.answers && seen.last <= seen.high && seen.last <= seen.curve, `on a phone: ${JSON.stringify(seen)}`);
  await bench.end();
}

await main([some_bolts_are_new, a_step_is_done_anew, what_is_due_is_said, a_reason_can_be_read]);
