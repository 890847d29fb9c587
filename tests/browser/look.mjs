// Not a test: pictures of every state, size and theme, for looking at. BW_SHOTS says where to.
import { Bench, main, open, shoot, until } from "./bench.mjs";

const sizes = { desk: [1280, 800], tablet: [1024, 600], phone: [390, 844], wide: [1920, 1080] };

async function each(page, name, themes = ["day", "night"]) {
  for (const theme of themes) {
    await page.evaluate((t) => { document.documentElement.dataset.theme = t; }, theme);
    for (const [size, [width, height]] of Object.entries(sizes)) {
      await page.setViewportSize({ width, height });
      await shoot(page, `${name}-${size}-${theme}`);
    }
  }
  await page.evaluate(() => { document.documentElement.dataset.theme = "day"; });
  await page.setViewportSize({ width: 1280, height: 800 });
}

async function states(chromium) {
  const bench = new Bench();
  const url = await bench.start();
  const page = await open(chromium, url);
  await each(page, "caution");
  const seen = new Set(["caution"]);
  const to = async (state, acts) => {
    const there = bench.next((e) => e.event?.state === state, 60000);
    bench.tell("acts_on", { states: acts });
    await there;
    bench.tell("acts_on", { states: [] });
    await page.waitForTimeout(300);
  };
  await to("reading", ["confirm", "note"]);
  await until(page, "state-reading");
  await page.keyboard.type("57.96");
  await page.waitForTimeout(200);
  await each(page, "reading");
  await page.keyboard.press("Backspace");
  await to("pull", ["confirm", "note", "reading", "value", "second_person", "reason"]);
  await until(page, "state-pull");
  await each(page, "pull");
  for (let i = 0; i < 3; i++) {
    const next = bench.next((e) => e.event?.kind === "prompt");
    bench.tell("pull");
    await next;
  }
  await page.waitForSelector("#main.held");
  await each(page, "pass");
  await page.evaluate(() => document.activeElement.blur());
  await page.waitForSelector("#main.state-pull");
  await each(page, "pull-some");
  const aim = (bench.prompt.low_Nm + bench.prompt.high_Nm) / 2;
  bench.tell("hold", { torque_Nm: aim * 0.6, turn_deg: 12 });
  await page.waitForSelector("#main.pulling");
  await page.waitForTimeout(200);
  await each(page, "live-go");
  bench.tell("hold", { torque_Nm: aim * 0.9, turn_deg: 18 });
  await page.waitForTimeout(300);
  await each(page, "live-near");
  bench.tell("hold", { torque_Nm: aim, turn_deg: 20 });
  await page.waitForTimeout(300);
  await each(page, "live-stop");
  bench.tell("hold", { torque_Nm: aim * 1.3, turn_deg: 30 });
  await page.waitForTimeout(300);
  await each(page, "live-over");
  const verdict = bench.next((e) => e.event?.state === "verdict");
  bench.tell("release");
  await verdict;
  await page.waitForSelector("#main.state-verdict");
  await each(page, "verdict");
  await page.click("text=Last steps");
  await shoot(page, "panel-history");
  await page.keyboard.press("Escape");
  await page.click("text=Open");
  await shoot(page, "panel-open");
  await page.keyboard.press("Escape");
  await page.click("#tools >> text=Screen");
  await shoot(page, "panel-screen");
  await page.keyboard.press("Escape");
  await page.click("#actions >> text=More");
  await shoot(page, "panel-more");
  await page.keyboard.press("Escape");
  await page.close();
  await bench.ask("kill", "killed");
  await bench.start();
  const again = await open(chromium, url);
  await shoot(again, "panel-welcome");
  console.log(page.complaints, again.complaints);
  await bench.end();
  void seen;
}

await main([states]);
