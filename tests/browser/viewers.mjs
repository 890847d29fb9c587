// Two screens at one bench: both see, one answer counts, an old one is refused.
import { Bench, check, main, open, small, until } from "./bench.mjs";

async function two_viewers(chromium) {
  const bench = new Bench(small);
  const url = await bench.start([]);
  const one = await open(chromium, url);
  const two = await open(chromium, `${url}watch`);
  check(await two.locator("#actions button").count() === 0, "who looks on has answers");
  check((await two.textContent("#strip")).includes("LOOKING ON"), "who looks on is not told so");
  const told = await two.evaluate(() => new Promise((done) => {
    const stream = new EventSource("/watch/events");
    stream.addEventListener("state", (e) => (stream.close(), done(JSON.parse(e.data))));
  }));
  check(told.nonce === undefined, "who looks on is told the nonce");
  await one.click("#actions .primary");
  await Promise.all([until(one, "state-note"), until(two, "state-note")]);
  check(await one.locator("#entry").count() === 1 && await two.locator("#entry").count() === 0, "who looks on has a line to type in");
  bench.tell("acts_on", { states: ["note", "ask"] });
  await Promise.all([until(one, "state-reading"), until(two, "state-reading")]);
  check(await one.locator(".keys").count() > 0 && await two.locator("#entry, .keys").count() === 0, "who looks on has a keypad");
  check(await two.locator(".where .point.next").count() === 1, "who looks on does not see where is measured");
  await bench.end();
}

async function stale_and_double(chromium) {
  const bench = new Bench(small);
  const url = await bench.start([]);
  const page = await open(chromium, url);
  const state = () => page.evaluate(() => new Promise((done) => {
    const stream = new EventSource("/events");
    stream.addEventListener("state", (e) => (stream.close(), done(JSON.parse(e.data))));
  }));
  const post = (body) => page.evaluate((b) => fetch("/answer", {
    method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(b),
  }).then((r) => r.status), body);
  const first = await state();
  const answer = { step: first.step.id, nonce: first.nonce, line: "yes" };
  const both = await Promise.all([post(answer), post(answer)]);
  check(both.sort().join() === "200,409", `a double tap got ${both}`);
  await until(page, "state-note");
  check(await post(answer) === 409, "an old answer was taken");
  const second = await state();
  check(await post({ ...answer, nonce: second.nonce }) === 409, "an answer to another step was taken");
  check(await post({ step: second.step.id, nonce: first.nonce, line: "x" }) === 409, "an old nonce was taken");
  check(await post({ step: second.step.id, nonce: "", line: "x" }) === 409, "no nonce was taken");
  await bench.ask("entries", "entries").then((entries) =>
    check(entries.filter((e) => e.kind === "confirmed").length === 1, "not one confirmation is recorded"));
  await bench.end();
}

// While the hand is busy nothing can be confirmed; a page that lost its bench can't either.
async function nothing_while_pulling(chromium) {
  const bench = new Bench(small);
  const url = await bench.start(["confirm", "note", "ask", "reading"]);
  const page = await open(chromium, url);
  await until(page, "state-pull");
  bench.tell("hold", { torque_Nm: 12, turn_deg: 6 });
  await until(page, "pulling");
  const late = await open(chromium, url);
  await late.waitForTimeout(100);
  check(await page.locator("#actions button").count() === 0, "there are answers while the wrench pulls");
  await bench.end();
}

await main([two_viewers, stale_and_double, nothing_while_pulling]);
