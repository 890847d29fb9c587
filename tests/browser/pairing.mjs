// A second screen in the shop's network, as a person at it sees it: pairing by the code at the bench,
// and every refusal in words. The program's steady clock is the test's own (late.c).
import { Bench, check, main, small, until } from "./bench.mjs";

const NETWORK = ["--display-network"];

async function screen(chromium, url) {
  const context = await chromium.newContext({ ignoreHTTPSErrors: true, viewport: { width: 1024, height: 600 } });
  const page = await context.newPage();
  await page.goto(url);
  return page;
}

const said = (page, text) => page.waitForFunction((t) => document.getElementById("said").textContent.includes(t), text, { timeout: 15000 })
  .catch(async () => check(false, `the page does not say "${text}" but "${await page.textContent("#said")}"`));

// Presses the button; the six digits that then stand at the bench.
async function code_of(bench, page, kind = "may answer") {
  const shown = bench.next((e) => e.said?.includes(`code to pair a screen that ${kind}`));
  await page.click("#ask");
  await said(page, "Look at the bench's terminal");
  return (await shown).said.match(/(\d{3} \d{3})/)[1];
}

const other = (code, by) => String((Number(code.replace(" ", "")) + by) % 1000000).padStart(6, "0");

// The same words may stand there from the try before: the bench's own answer is awaited first.
async function enter(page, code) {
  const answered = /^\d{6}$/.test(code.replace(" ", "")) && page.waitForResponse((r) => r.url().endsWith("/pair/enter"));
  await page.fill("#entry", code);
  await page.click("#pair");
  await answered;
}

async function pairs_by_the_code(chromium) {
  const bench = new Bench(small);
  const page = await screen(chromium, await bench.start([], NETWORK));
  check(await page.textContent("h1") === "Pair this screen", "not the page to pair at");
  check(!(await page.content()).includes("heron-3"), "who is not paired is told of the build");
  await enter(page, "123456");
  await said(page, "there is no code now");
  const code = await code_of(bench, page);
  await enter(page, "12 34");
  await said(page, "six digits");
  await enter(page, other(code, 1));
  await said(page, "that is not the code at the bench");
  check(await page.inputValue("#entry") === "", "the wrong code still stands there");
  await page.fill("#entry", code); // with its blank, as it stands at the bench
  await page.keyboard.press("Enter");
  await until(page, "state-confirm");
  await page.click("#actions .primary");
  await until(page, "state-note");
  check((await bench.ask("entries", "entries")).some((e) => e.kind === "confirmed"), "the paired screen's answer is not recorded");
  check(await page.evaluate(() => document.cookie) === "", "a script can read the token");
  await bench.end();
}

async function looks_on_by_a_code_of_its_own(chromium) {
  const bench = new Bench(small);
  const url = await bench.start([], NETWORK);
  const answers = await screen(chromium, url);
  const watches = await screen(chromium, `${url}watch`);
  check((await watches.textContent("#may")).includes("only look on"), "it is not said what the screen may");
  const code = await code_of(bench, answers);
  await watches.click("#ask");
  await said(watches, "for another kind of screen");
  await enter(answers, code);
  await until(answers, "state-confirm");
  await enter(watches, await code_of(bench, watches, "only looks on"));
  await until(watches, "state-confirm");
  check(await watches.locator("#actions button").count() === 0, "who looks on has answers");
  await watches.goto(url);
  check(await watches.textContent("h1") === "Pair this screen", "who looks on has the page that answers");
  await bench.end();
}

async function an_expired_code_is_refused(chromium) {
  const bench = new Bench(small);
  const page = await screen(chromium, await bench.start([], NETWORK));
  const code = await code_of(bench, page);
  bench.tell("later", { seconds: 121 });
  await enter(page, code);
  await said(page, "there is no code now: have a new one shown");
  const fresh = await code_of(bench, page);
  check(fresh !== code, "the new code is the old one");
  bench.tell("later", { seconds: 121 + 118 });
  await enter(page, fresh);
  await until(page, "state-confirm");
  await bench.end();
}

async function too_many_tries_lock(chromium) {
  const bench = new Bench(small);
  const page = await screen(chromium, await bench.start([], NETWORK));
  const code = await code_of(bench, page);
  for (const by of [1, 2]) {
    await enter(page, other(code, by));
    await said(page, "that is not the code at the bench");
  }
  const told = bench.next((e) => e.said?.includes("wrong codes were typed"));
  await enter(page, other(code, 3));
  await said(page, "too many wrong codes");
  await told;
  await enter(page, code);
  await said(page, "too many wrong codes");
  await page.click("#ask");
  await said(page, "too many wrong codes");
  bench.tell("later", { seconds: 29 });
  await enter(page, code);
  await said(page, "too many wrong codes");
  bench.tell("later", { seconds: 31 });
  await enter(page, await code_of(bench, page));
  await until(page, "state-confirm");
  await bench.end();
}

// The bench was started anew: it knows no screen of before, and the page says so.
async function a_refused_screen_is_told(chromium) {
  const bench = new Bench(small);
  const page = await screen(chromium, await bench.start([], NETWORK));
  await enter(page, await code_of(bench, page));
  await until(page, "state-confirm");
  await bench.ask("kill", "killed");
  await said(page, "may be old");
  await bench.start([], NETWORK);
  await said(page, "The bench no longer knows this screen: load the page anew.");
  check(await page.evaluate(() => document.body.classList.contains("unlinked")), "what stands there looks as if it counted");
  await page.click("#actions .primary");
  await said(page, "this screen is not paired");
  check(!(await bench.ask("entries", "entries")).some((e) => e.kind === "confirmed"), "a refused screen confirmed something");
  await page.reload();
  check(await page.textContent("h1") === "Pair this screen", "not the page to pair at");
  await bench.end();
}

await main([pairs_by_the_code, looks_on_by_a_code_of_its_own, an_expired_code_is_refused, too_many_tries_lock, a_refused_screen_is_told]);
