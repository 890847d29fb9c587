// Whole builds: by the page alone, by the wrench and a foot switch alone, over a restart.
import { join } from "node:path";
import { Bench, by_page, check, click, here, keyed, kinds_of, main, open, set, small, typed, until, work } from "./bench.mjs";

const count = (entries, kind) => kinds_of(entries).filter((k) => k === kind).length;

async function finished(bench) {
  const entries = await bench.ask("entries", "entries");
  check(entries.at(-1).kind === "build_closed" && entries.at(-1).outcome === "complete", "the build is not closed as complete");
  check(count(entries, "verdict") === 8, `${count(entries, "verdict")} verdicts, not 8`);
  const audit = await bench.ask("audit", "audit");
  check(audit.findings.length === 0, "the audit finds something");
  return entries;
}

async function by_the_page_alone(chromium) {
  const bench = new Bench(small);
  const page = await open(chromium, await bench.start(["pull"]));
  await set(page, { pause_s: 0 });
  const ended = bench.next((e) => e.ended !== undefined);
  await work(page, (name) => name === "ended", by_page);
  check((await page.textContent("#main")).includes("complete"), "the page does not say that it is complete");
  check((await ended).ended === 0, "the program did not end well");
  const entries = await finished(bench);
  check(entries.filter((e) => e.kind === "reading").every((r) => r.typed === "0.25"), "a reading is not what was keyed");
  check(page.complaints.length === 0, page.complaints.join("; "));
  await bench.end();
}

// What is drawn of the last pull and its siblings.
const curves = (page, where) => page.evaluate((w) => {
  const read = (path) => {
    const at = [...path.getAttribute("d").matchAll(/([-\d.]+) ([-\d.]+)/g)].map((m) => [Number(m[1]), Number(m[2])]);
    return { points: at.length, rises: at.length > 1 && at.at(-1)[0] > at[0][0] && at.at(-1)[1] < at[0][1] };
  };
  const svg = document.querySelector(`${w} .curve`);
  return svg && { line: read(svg.querySelector(".line")), siblings: [...svg.querySelectorAll(".sibling")].map(read) };
}, where);

// A verdict that waits for a decision: the same curves before and after the program begins anew.
async function curves_come_back(chromium) {
  const bench = new Bench(small);
  const url = await bench.start(["pull", "note", "ask", "reading"]);
  const page = await open(chromium, url);
  await set(page, { pause_s: 0 });
  bench.tell("acts_on", { states: [] });
  await work(page, (name) => name === "state-pull", by_page);
  for (const [share, state] of [[1, "pull"], [1, "pull"], [1.3, "verdict"]]) {
    const next = bench.next((e) => e.event?.state === state);
    bench.tell("pull", { share });
    await next;
  }
  await until(page, "state-verdict");
  const before = await curves(page, "#main");
  check(before?.line.points > 20 && before.siblings.length === 2, `at the verdict: ${JSON.stringify(before)}`);
  await bench.ask("kill", "killed");
  await bench.start([]);
  await page.reload();
  await until(page, "state-verdict");
  const after = await curves(page, "#main");
  check(JSON.stringify(after) === JSON.stringify(before), `before ${JSON.stringify(before)}, after ${JSON.stringify(after)}`);
  check(page.complaints.every((c) => c.includes("ERR_") || c.includes("Failed")), page.complaints.join("; "));
  await bench.end();
}

// No touch, no pointer: the wrench, and a foot switch that sends a key.
async function by_wrench_and_foot(chromium) {
  const bench = new Bench(small);
  const page = await open(chromium, await bench.start(["pull", "note", "ask", "reading"]));
  await set(page, { pause_s: 1 });
  const ended = bench.next((e) => e.ended !== undefined, 60000);
  let held = 0;
  const foot = async (p) => {
    await p.waitForTimeout(400); // the page is deaf just after it changed
    await p.keyboard.press("PageDown");
  };
  await work(page, (name) => {
    held += name === "held" ? 1 : 0;
    return name === "ended";
  }, { confirm: foot, close: async (p) => (await p.waitForTimeout(400), p.keyboard.press("Enter")) });
  check((await ended).ended === 0, "the program did not end well");
  check(held > 0, "no verdict was shown before it moved on");
  await finished(bench);
  await bench.end();
}

async function restart_in_the_middle(chromium) {
  const bench = new Bench(small);
  const url = await bench.start(["pull"]);
  const page = await open(chromium, url);
  await set(page, { pause_s: 0 });
  bench.tell("acts_on", { states: [] });
  await work(page, (name) => name === "state-pull", by_page);
  for (let i = 0; i < 3; i++) {
    const next = bench.next((e) => e.event?.state === "pull");
    bench.tell("pull");
    await next;
  }
  await bench.ask("kill", "killed");
  await page.waitForSelector("body.unlinked");
  check((await page.textContent("#said")).includes("may be old"), "the page does not say that the bench is gone");
  await bench.start([]);
  await page.reload();
  await page.waitForSelector("dialog[open]");
  const text = await page.textContent("dialog");
  check(text.includes("stage 1 of 2, 3 of 4 done"), `what is half done is not said: ${text}`);
  check(await page.locator("dialog .history li").count() === 3, "not three steps back");
  const drawn = await curves(page, "dialog .last-pull");
  check(drawn.line.points > 20 && drawn.line.rises, `the last pull has no curve any more: ${JSON.stringify(drawn)}`);
  check(drawn.siblings.length === 2 && drawn.siblings.every((s) => s.points > 20 && s.rises), `its siblings: ${JSON.stringify(drawn)}`);
  check((await page.textContent("dialog .last-pull")).includes("place 3"), "it is not said whose curve it is");
  await page.click('dialog .places button:has-text("1")');
  check((await page.textContent("dialog .told")).includes("place 3"), "a wrong memory is not put right");
  await page.click('dialog .places button:has-text("3")');
  check((await page.textContent("dialog .told")).includes("So says the record"), "a right memory is not confirmed");
  await page.click('dialog >> text="Go on"');
  const ended = bench.next((e) => e.ended !== undefined);
  bench.tell("acts_on", { states: ["pull"] });
  await work(page, (name) => name === "ended", by_page);
  check((await ended).ended === 0, "the program did not end well");
  await finished(bench);
  await bench.end();
}

// Twenty minutes without a word, by the page's clock: three steps back in view, before anything is pulled.
async function after_a_long_pause(chromium) {
  const bench = new Bench(small);
  const url = await bench.start(["confirm", "note", "ask", "reading"]);
  const context = await chromium.newContext({ viewport: { width: 1280, height: 800 } });
  const page = await context.newPage();
  await page.clock.install({ time: new Date("2026-03-04T10:00:00") });
  await page.goto(url);
  await until(page, "state-pull");
  const pull = async () => {
    const next = bench.next((e) => e.event?.state === "pull");
    bench.tell("pull");
    await next;
  };
  const shown = () => page.locator("dialog[open]").count();
  await pull();
  await page.waitForSelector("#main.held");
  await page.clock.fastForward(10000);
  await until(page, "state-pull");
  await page.clock.fastForward(19 * 60 * 1000);
  check(await shown() === 0, "the panel comes before twenty minutes are over");
  await page.keyboard.press("Shift"); // somebody is there: the time begins anew
  await page.clock.fastForward(19 * 60 * 1000);
  check(await shown() === 0, "a key is no sign of life");
  await page.clock.fastForward(2 * 60 * 1000);
  await page.waitForSelector("dialog[open]");
  const text = await page.textContent("dialog");
  check(text.includes("Where were we?") && text.includes("stage 1 of 2, 1 of 4 done"), `it says: ${text}`);
  check(await page.locator("dialog .history li").count() === 3, "not three steps back");
  check(await page.locator("dialog .last-pull .curve").count() === 1, "not the curve of the last pull");
  await page.click('dialog .places button:has-text("2")');
  check((await page.textContent("dialog .told")).includes("place 1"), "a wrong memory is not put right");
  await page.click('dialog >> text="Go on"');
  check(await shown() === 0, "it does not close");
  await page.clock.fastForward(21 * 60 * 1000);
  await page.waitForSelector("dialog[open]");
  await pull(); // who pulls all the same is shown the gauge, not the panel
  await page.waitForFunction(() => !document.querySelector("dialog").open);
  await bench.end();
}

async function undo_and_hand_over(chromium) {
  const bench = new Bench(small);
  const page = await open(chromium, await bench.start([]));
  await page.click("#actions .primary");
  await until(page, "state-note");
  await page.click('#actions button:has-text("Undo")');
  await until(page, "state-confirm");
  await page.click('#actions button:has-text("More")');
  await page.click('dialog button:has-text("Hand over")');
  check((await page.textContent("dialog")).includes("A. Lund hands over to"), "who hands over is not named");
  await page.fill("dialog input", "B. Roth");
  await page.click("dialog .primary");
  await page.waitForFunction(() => document.getElementById("by").textContent === "B. Roth");
  check((await page.textContent("#said")).includes("from A. Lund to B. Roth"), "not both names are said");
  await page.click("#actions .primary");
  await until(page, "state-note");
  const entries = await bench.ask("entries", "entries");
  const confirmed = entries.filter((e) => e.kind === "confirmed");
  const correction = entries.find((e) => e.kind === "correction");
  check(confirmed.length === 2 && correction !== undefined, "the undo is no correction beside both confirmations");
  check(entries.filter((e) => e.kind === "person_on").map((e) => e.person).join() === "A. Lund,B. Roth", "the record has not both names");
  await bench.end();
}

// Marked parts, repeats, used fasteners, a second person: each has its view.
async function what_is_asked_rarely(chromium) {
  const bench = new Bench({ sequence: join(here, "rare.lua") });
  const page = await open(chromium, await bench.start(["pull"]));
  await set(page, { pause_s: 0 });
  const seen = {};
  const look = (name, run) => async (p) => {
    seen[name] = (seen[name] ?? "") + await p.textContent("#main");
    await run(p);
  };
  const ended = bench.next((e) => e.ended !== undefined, 60000);
  await work(page, (name) => name === "ended", {
    fit: look("fit", typed("S4")),
    reading: look("reading", keyed("0.25")),
    ask: look("ask", by_page.ask),
    pull: look("pull", async () => {}),
    witness: look("witness", typed("B. Roth")),
    close: by_page.close,
  });
  check((await ended).ended === 0, "the program did not end well");
  check(seen.fit?.includes("brake shoe to left") && seen.fit.includes("2 of 2"), `fit: ${seen.fit}`);
  check(seen.reading?.includes("time 2 of 2") && seen.reading.includes("Read before"), `reading: ${seen.reading}`);
  check(seen.ask?.includes("thread whole, no rust"), `ask: ${seen.ask}`);
  check(seen.witness?.includes("Who else has looked"), `witness: ${seen.witness}`);
  check(page.complaints.length === 0, page.complaints.join("; "));
  await bench.end();
}

// Who is to stand for something is told what it is: a value outside its limits, a verdict.
async function what_is_decided_on(chromium) {
  const bench = new Bench({ sequence: join(here, "decide.lua") });
  const page = await open(chromium, await bench.start([]));
  const shown = () => page.textContent("#main");
  await until(page, "state-reading");
  await keyed("0.20")(page);
  await until(page, "state-value");
  await click("override")(page);
  await until(page, "state-second_person");
  check((await shown()).includes("widest gap: 0.20 mm") && (await shown()).includes("limits"), `at a value: ${await shown()}`);
  await typed("B. Roth")(page);
  await until(page, "state-reason");
  check((await shown()).includes("widest gap: 0.20 mm"), `its reason: ${await shown()}`);
  await typed("as the customer has it")(page);
  await until(page, "state-pull");
  bench.tell("pull", { share: 1.3 });
  await until(page, "state-verdict");
  await click("override")(page);
  await until(page, "state-second_person");
  check(/drum bolts, .*upper.*: high, 26\.0 N·m/.test(await shown()), `at a verdict: ${await shown()}`);
  await bench.end();
}

// Lengths, slots, prevailing torque, a position: hands measure and look, the page shows and asks.
async function every_kind(chromium) {
  const bench = new Bench({ sequence: join(here, "kinds.lua") });
  const page = await open(chromium, await bench.start(["pull"]));
  await set(page, { pause_s: 0 });
  const seen = new Set();
  const look = (name, run) => async (p) => {
    seen.add(name);
    await run(p);
  };
  const ended = bench.next((e) => e.ended !== undefined, 60000);
  await work(page, (name) => (seen.add(name), name === "ended"), {
    length: look("length", async (p) => {
      check((await p.textContent("#main")).includes("length"), "no length is asked for");
      bench.tell("act");
    }),
    slot: look("slot", async (p) => {
      check(await p.locator("#actions .primary").count() === 2, "not yes and no to a slot");
      bench.tell("act");
    }),
    position: look("position", by_page.confirm),
    confirm: by_page.confirm,
    close: by_page.close,
  });
  check((await ended).ended === 0, "the program did not end well");
  for (const wanted of ["length", "position", "slot"]) check(seen.has(wanted), `${wanted} was not shown`);
  check(page.complaints.length === 0, page.complaints.join("; "));
  await bench.end();
}

await main([by_the_page_alone, by_wrench_and_foot, restart_in_the_middle, curves_come_back, after_a_long_pause, undo_and_hand_over, what_is_asked_rarely, what_is_decided_on, every_kind]);
