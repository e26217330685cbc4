// How soon the words of the text screen are painted, and how soon it answers a hand, in headless
// Chromium on this machine (docs/measurements.md):
//
//   meson test --benchmark desk-paint
//
// Painted is what the browser says is painted: Element Timing of the first word (in its own font: a
// word whose font has not come is not painted) and the first contentful paint, from the start of
// the navigation.  An answer is measured from the time stamp of the event to the end of the frame in
// which all it changes stands on the page.  A page of one word, with nothing else, tells what the
// browser itself takes on this machine at this minute.  A hand rests for a tenth of a second on what it
// is about to click, and presses for a twentieth (REST=0: neither).
import http from "node:http";
import os from "node:os";
import { chromium } from "playwright-core";
import { check, finish, folder, start, stop } from "../../tests/server/desk.mjs";

const times = Number(process.env.TIMES ?? 20), hands = Number(process.env.HANDS ?? 30);
const browser_path = process.env.CHROMIUM ?? "/usr/bin/chromium";
const desk = await start(folder(), ["--quiet"]);
const origin = `http://127.0.0.1:${desk.port}`;
const launch = () => chromium.launch({
  executablePath: browser_path,
  args: ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
});
const viewport = { width: 1440, height: 950 };
const rest = Number(process.env.REST ?? 100), press = { delay: rest / 2 };
const pause = (ms) => new Promise((go) => setTimeout(go, ms));
const bare = http.createServer((_, reply) => {
  reply.setHeader("content-type", "text/html");
  reply.end('<!doctype html><title>bare</title><p elementtiming="words">word');
}).listen(0, "127.0.0.1");
const quantile = (sorted, q) => sorted[Math.min(sorted.length - 1, Math.floor(q * sorted.length))];
function told(name, found) {
  const sorted = found.toSorted((a, b) => a - b);
  console.log(`${name}: median ${quantile(sorted, 0.5).toFixed(0)} ms, p95 ${quantile(sorted, 0.95).toFixed(0)} ms of ${sorted.length}`);
  return quantile(sorted, 0.5);
}

// In the page: when the first word was painted; when a frame that holds something has been shown.
function watch() {
  window.painted = new Promise((done) => new PerformanceObserver((list) => {
    for (const entry of list.getEntries()) if (entry.identifier === "words") done(entry.renderTime);
  }).observe({ type: "element", buffered: true }));
  window.shown = (holds) => new Promise((done, fail) => {
    const until = performance.now() + 10_000;
    const look = () => requestAnimationFrame(() => {
      if (performance.now() > until) return fail(new Error(`it never came: ${holds}`));
      if (!holds()) return look();
      const channel = new MessageChannel();
      channel.port1.onmessage = () => done(performance.now());
      channel.port2.postMessage(0);
    });
    look();
  });
  window.hand = (kind, holds) => new Promise((done, fail) => addEventListener(kind, (event) =>
    window.shown(holds).then((at) => done(at - event.timeStamp), fail), { capture: true, once: true }));
}

console.log(`load ${os.loadavg().map((one) => one.toFixed(1)).join(" ")} on ${os.cpus().length} × ${os.cpus()[0].model}`);
let browser = await launch();
const first = await browser.newContext({ viewport });
const door = await first.newPage();
await door.goto(`${origin}/#enter=${desk.link}`);
await door.waitForSelector(".mark");
const cookies = await first.cookies();

for (const passage of ["67:1-5", "78:1-40"]) {
  for (const warm of [false, true]) {
    const contentful = [], words = [], marks = [];
    let context = null, page;
    const reference = [];
    for (let n = 0; n < times; n++) {
      if (!warm || !context) {
        await context?.close();
        context = await browser.newContext({ viewport });
        await context.addCookies(cookies);
        page = await context.newPage();
        await page.addInitScript(watch);
        if (warm) {
          await page.goto(`${origin}/text/${passage}`);
          await page.waitForSelector(".mark");
        }
      }
      await page.goto(`http://127.0.0.1:${bare.address().port}/`);
      reference.push(await page.evaluate(() => window.painted));
      await page.goto(`${origin}/text/${passage}`);
      words.push(await page.evaluate(() => window.painted));
      contentful.push(await page.evaluate(() => performance.getEntriesByName("first-contentful-paint")[0].startTime));
      marks.push(await page.evaluate(() => window.shown(() => document.querySelector(".mark"))));
    }
    await context.close();
    const where = `${passage}, ${warm ? "opened before" : "empty cache"}`;
    told(`${where}: a bare page of one word`, reference);
    told(`${where}: first contentful paint`, contentful);
    told(`${where}: words painted`, words);
    told(`${where}: marks there (at the latest)`, marks);
  }
}

const page = await first.newPage();
await page.addInitScript(watch);
await page.goto(`${origin}/text/78:1-40`);
await page.waitForSelector(".mark");
check(await page.locator(".word").count() > 150, "forty verses stand there");
const answers = { "a word clicked": [], "its explanation there": [], "a stop set": [], "its marks there": [], "a family on or off": [], "a word on by key": [] };
const kept = async (name, work) => answers[name].push(await work);
// Where to click: in sight before the clock starts, so that scrolling is not measured along with it.
async function centre(one) {
  await one.scrollIntoViewIfNeeded();
  const box = await one.boundingBox();
  return [box.x + box.width / 2, box.y + box.height / 2];
}
// Families that have marks in these verses.
const families = [];
for (let n = 0; n < await page.locator(".families input").count(); n++) {
  const count = () => page.locator(".mark").count(), box = page.locator(".families input").nth(n), before = await count();
  await box.click();
  if (await count() !== before) families.push(n);
  await box.click();
}
check(families.length > 1, `families with marks: ${families}`);
for (let n = 0; n < hands; n++) {
  const at = 3 + n % 20;
  const spot = await centre(page.locator(".word").nth(at));
  await page.mouse.move(...spot);
  await pause(rest);
  const click = page.evaluate((k) => window.hand("click", () => document.querySelectorAll(".word")[k].classList.contains("chosen")
    || document.querySelector(".picked")), at);
  const whole = page.evaluate((k) => window.hand("click", () => document.querySelector(".explain :is(article, dl, p + p)")
    && document.querySelector(".place-note")?.textContent.startsWith(document.querySelectorAll(".word")[k].dataset.at)
    && document.querySelector(".explain")?.getAttribute("aria-busy") !== "true"), at);
  await page.evaluate(() => 0);
  await page.mouse.click(...spot, press);
  await Promise.all([kept("a word clicked", click), kept("its explanation there", whole)]);
  await page.keyboard.press("Escape");
  await page.locator(".explain").waitFor({ state: "detached" });

  const gap = page.locator(".gap").nth(4 + n % 20), was = await gap.getAttribute("aria-pressed");
  const place = await centre(gap);
  await page.mouse.move(...place);
  await pause(rest);
  const seen = page.evaluate(([k, before]) => window.hand("click", () => document.querySelectorAll(".gap")[k].getAttribute("aria-pressed") !== before), [4 + n % 20, was]);
  const asked = page.evaluate((before) => window.hand("click", () => location.search !== before && document.querySelector(".leaf").getAttribute("aria-busy") === "false"),
    new URL(page.url()).search);
  await page.evaluate(() => 0);
  await page.mouse.click(...place, press);
  await Promise.all([kept("a stop set", seen), kept("its marks there", asked)]);

  const before = await page.locator(".mark").count();
  const box = await centre(page.locator(".families input").nth(families[n % families.length]));
  const turned = page.evaluate((count) => window.hand("click", () => document.querySelectorAll(".mark").length !== count), before);
  await page.evaluate(() => 0);
  await page.mouse.click(...box, press);
  await kept("a family on or off", turned);

  await page.locator(".word").nth(at).focus();
  const moved = page.evaluate((k) => window.hand("keydown", () => document.activeElement === document.querySelectorAll(".word")[k]), at + 1);
  await page.evaluate(() => 0);
  await page.keyboard.press("ArrowLeft");
  await kept("a word on by key", moved);
}
for (const [name, found] of Object.entries(answers)) told(name, found);
console.log(`load ${os.loadavg().map((one) => one.toFixed(1)).join(" ")} at the end`);
bare.close();
await browser.close();
await stop(desk);
finish("desk-paint");
