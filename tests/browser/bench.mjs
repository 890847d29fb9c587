// A bench and a browser for the tests: hands.py holds the wrench, Chromium shows the page.
import { spawn } from "node:child_process";
import { once } from "node:events";
import { existsSync, mkdirSync } from "node:fs";
import { createInterface } from "node:readline";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

export const here = dirname(fileURLToPath(import.meta.url));
const SKIPPED = 77; // what ctest takes for "not run here"

export function check(condition, message) {
  if (!condition) throw new Error(message);
}

const chromium_path = process.env.CHROMIUM ?? "/usr/bin/chromium";

async function engine() {
  if (!existsSync(join(here, "node_modules")) || !existsSync(chromium_path)) {
    console.log("skipped: no Chromium or no node modules here; `sh .ci/setup test` installs them");
    process.exit(SKIPPED);
  }
  return (await import("playwright-core")).chromium;
}

export async function browser() {
  return (await engine()).launch({ executablePath: chromium_path, args: ["--no-sandbox", "--disable-gpu"] });
}

// Everything that hands.py tells, and what may be waited for in it.
export class Bench {
  constructor(options = {}) {
    this.process = spawn("/usr/bin/python3", [join(here, "hands.py"), JSON.stringify(options)], { stdio: ["pipe", "pipe", "inherit"] });
    this.events = [];
    this.waiting = [];
    createInterface({ input: this.process.stdout }).on("line", (line) => this.#hear(JSON.parse(line)));
  }

  #hear(event) {
    if (event.event?.kind === "prompt") this.prompt = event.event;
    this.events.push(event);
    this.waiting = this.waiting.filter((w) => !w.wanted(event) || (w.done(event), false));
  }

  next(wanted, patience_ms = 20000) {
    return new Promise((done, fail) => {
      const timer = setTimeout(() => fail(new Error(`the bench did not tell: ${wanted}`)), patience_ms);
      this.waiting.push({ wanted, done: (event) => (clearTimeout(timer), done(event)) });
    });
  }

  tell(what, more = {}) {
    this.process.stdin.write(`${JSON.stringify({ do: what, ...more })}\n`);
  }

  async ask(what, answer, more) {
    const event = this.next((e) => e[answer] !== undefined);
    this.tell(what, more);
    return (await event)[answer];
  }

  async start(acts = [], extra = []) {
    this.port = await this.ask("start", "started", { acts, extra });
    this.url = `${extra.includes("--display-network") ? "https" : "http"}://127.0.0.1:${this.port}/`;
    return this.url;
  }

  async end() {
    this.process.stdin.end();
    if (this.process.exitCode === null) await once(this.process, "exit");
  }
}

// A page at the bench; complains of anything that the browser complains of.
export async function open(chromium, url, options = {}) {
  const context = await chromium.newContext({ viewport: { width: 1280, height: 800 }, ...options });
  const page = await context.newPage();
  page.complaints = [];
  page.on("pageerror", (error) => page.complaints.push(String(error)));
  if (process.env.BW_LOUD) page.on("pageerror", (error) => console.log(error));
  page.on("console", (m) => m.type() === "error" && page.complaints.push(m.text()));
  page.on("request", (r) => !r.url().startsWith(new URL(url).origin) && page.complaints.push(`asked ${r.url()}`));
  await page.goto(url);
  await page.waitForSelector("#main > *");
  return page;
}

export const small = { sequence: join(here, "small.lua") };

// Settings of the page, as the builder would have set them before.
export const set = (page, settings) => page.evaluate((s) => {
  localStorage.setItem("bench", JSON.stringify(s));
  location.reload();
}, settings).then(() => page.waitForSelector("#main > *"));

// What the program's record says happened, without texts of sequences.
export const kinds_of = (entries) => entries.map((e) => e.kind);

// Does by the page alone what it asks, until `stop(state)`; `press` answers a button's name.
export async function work(page, stop, press) {
  for (let i = 0; i < 500; i++) {
    const shown = await page.evaluate(() => ({
      name: document.getElementById("main").className, prompts: document.getElementById("main").dataset.prompts,
    }));
    if (stop(shown.name)) return;
    const state = shown.name.replace("state-", "");
    if (state in press) {
      await press[state](page);
    }
    await page.waitForFunction((before) => {
      const main = document.getElementById("main");
      return main.className !== before.name || main.dataset.prompts !== before.prompts;
    }, shown, { timeout: 20000 });
  }
  throw new Error("the build does not come to its end");
}

export const click = (text) => (page) => page.click(`#actions button:has-text("${text}")`);

// A number by the large keys.
export const keyed = (number) => async (page) => {
  for (const digit of number) await page.click(`.keys button[aria-label="${digit === "." ? "Point" : digit}"]`);
  await page.click('#actions button:has-text("Save")');
};

export const typed = (text) => async (page) => {
  await page.fill("#entry", text);
  await page.click('#actions button:has-text("Save")');
};

export const by_page = {
  confirm: async (page) => page.click("#actions .primary"),
  note: typed("WINCH-7 (invented)"),
  ask: async (page) => page.click("#actions .option"),
  reading: keyed("0.25"),
  close: click("Close the build"),
};

export const state_of = (page) => page.evaluate(() => document.getElementById("main").className);
export const until = (page, name) => page.waitForSelector(`#main.${name}`, { timeout: 20000 });

const shots = process.env.BW_SHOTS;

export async function shoot(page, name) {
  if (shots) {
    mkdirSync(shots, { recursive: true });
    await page.screenshot({ path: join(shots, `${name}.png`) });
  }
}

// Runs the tests in turn; one line each.
export async function main(tests) {
  const only = process.argv.slice(2);
  let failed = 0;
  const chromium = await browser();
  for (const test of tests.filter((t) => only.length === 0 || only.includes(t.name))) {
    const began = performance.now();
    try {
      await test(chromium);
      console.log(`ok   ${test.name} (${((performance.now() - began) / 1000).toFixed(1)} s)`);
    } catch (error) {
      failed++;
      console.log(`FAIL ${test.name}: ${error.stack}`);
    }
  }
  await chromium.close();
  process.exit(failed === 0 ? 0 : 1);
}
