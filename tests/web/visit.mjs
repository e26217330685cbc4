// A desk, a browser that is signed in, and looking at a screen in a language and a theme.
import { existsSync, readFileSync } from "node:fs";
import path from "node:path";
import { chromium } from "playwright-core";
import { ask, check, equal, folder, source, start, stop } from "../server/desk.mjs";

const browser_path = process.env.CHROMIUM ?? "/usr/bin/chromium";

// `flags`: more for the browser; `at`: what more for the desk.
export async function visit({ flags = [], at = [] } = {}) {
  if (!existsSync(browser_path)) {
    console.log(`skipped: there is no Chromium at ${browser_path}`);
    process.exit(77);
  }
  const desk = await start(folder(), at);
  const origin = `http://127.0.0.1:${desk.port}`;
  const browser = await chromium.launch({
    executablePath: browser_path,
    args: ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
      "--disable-component-update", "--disable-sync", ...flags],
  });
  const context = await browser.newContext({ viewport: { width: 1440, height: 950 }, locale: "en-GB", acceptDownloads: true });
  const page = await context.newPage();
  page.setDefaultTimeout(30000);
  const complaints = [];
  page.on("console", (message) => {
    if (message.type() === "error" && !/^Failed to load resource/.test(message.text())) complaints.push(message.text());
  });
  page.on("pageerror", (error) => complaints.push(error.message));
  await page.goto(`${origin}/#enter=${desk.link}`);
  await page.waitForSelector("nav");
  // The same session for asking beside the browser.
  desk.cookie = (await context.cookies()).map((one) => `${one.name}=${one.value}`).join("; ");
  desk.token = (await ask(desk, "GET", "/api/session")).json.token;
  return { desk, origin, page, complaints, browser, leave: async () => { await browser.close(); await stop(desk); } };
}

const axe = readFileSync(path.join(source, "node_modules/axe-core/axe.min.js"), "utf8");

// axe-core (Deque's checks of WCAG, MPL-2.0) finds nothing to say, and nothing reaches over the edge.
// then: what is opened within it first.
export async function look({ page, origin }, at, ready, lang, theme, then = null) {
  await page.evaluate(([l, t]) => {
    localStorage.setItem("lang", l);
    localStorage.setItem("theme", t);
  }, [lang, theme]);
  await page.goto(`${origin}${at}`);
  for (const one of [ready].flat()) await page.waitForSelector(one);
  await page.waitForFunction(([l, d, t]) => {
    const html = document.documentElement;
    return html.lang === l && html.dir === d && html.dataset.theme === t;
  }, [lang, lang === "ar" ? "rtl" : "ltr", theme]);
  if (then) await then(page);
  await page.evaluate(axe);
  const found = await page.evaluate(() => axe.run(document));
  equal(found.violations.map((one) => `${one.id}: ${one.nodes[0].html.slice(0, 200)}`), [], `${at} in ${lang}, ${theme}: accessible`);
  check(found.passes.length > 10, `${at}: axe looked at something`);
  for (const width of [360, 820, 1440]) {
    await page.setViewportSize({ width, height: 900 });
    await page.waitForFunction((w) => innerWidth === w, width);
    const over = await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() =>
      done(document.documentElement.scrollWidth - innerWidth)))));
    check(over <= 0, `${at} in ${lang} at ${width} px reaches ${over} px over the edge`);
  }
}
