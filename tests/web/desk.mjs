// A teacher's first evening in the browser: sign in, find a passage, set a stop, ask about a letter.
// Then every screen in both languages and themes: axe-core (Deque's checks of WCAG, MPL-2.0) finds
// nothing to say, and nothing reaches over the edge from a phone to a projector.
import { existsSync, readFileSync } from "node:fs";
import path from "node:path";
import { chromium } from "playwright-core";
import { check, equal, finish, folder, source, start, stop } from "../server/desk.mjs";
import { journeys, screens } from "./screens.mjs";

const browser_path = process.env.CHROMIUM ?? "/usr/bin/chromium";
if (!existsSync(browser_path)) {
  console.log(`skipped: there is no Chromium at ${browser_path}`);
  process.exit(77);
}
const axe = readFileSync(path.join(source, "node_modules/axe-core/axe.min.js"), "utf8");
const desk = await start(folder());
const origin = `http://127.0.0.1:${desk.port}`;
const browser = await chromium.launch({
  executablePath: browser_path,
  args: ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--use-fake-ui-for-media-stream",
    "--use-fake-device-for-media-stream"],
});
const context = await browser.newContext({ viewport: { width: 1440, height: 950 }, locale: "en-GB" });
const page = await context.newPage();
page.setDefaultTimeout(15000);
const complaints = [];
page.on("console", (message) => {
  if (message.type() === "error" && !/^Failed to load resource/.test(message.text())) complaints.push(message.text());
});
// What is typed need not be a passage; everything else that is asked for is there.
page.on("response", (response) => {
  if (response.status() >= 400 && !response.url().includes("/api/passage?"))
    complaints.push(`${response.status()} ${response.url()}`);
});
page.on("pageerror", (error) => complaints.push(error.message));
const elsewhere = [];
page.on("request", (request) => {
  if (!request.url().startsWith(origin) && !/^(data|blob):/.test(request.url())) elsewhere.push(request.url());
});

try {
  await page.goto(`${origin}/text/67:1-5`);
  await page.getByText("Follow the link").waitFor();
  check(await page.locator(".word").count() === 0, "who is not signed in is told how, and shown nothing");
  await page.goto("about:blank");
  await page.goto(`${origin}/#enter=${desk.link}`);
  for (const journey of journeys) await journey({ page, origin, check, equal, desk });
  equal(complaints, [], "the browser has nothing to complain of");
  equal(elsewhere, [], "nothing is fetched from elsewhere");

  for (const lang of ["en", "ar"])
    for (const theme of ["light", "dark"]) {
      await page.evaluate(([l, t]) => {
        localStorage.setItem("lang", l);
        localStorage.setItem("theme", t);
      }, [lang, theme]);
      for (const { at, ready, then } of screens) {
        await page.goto(`${origin}${at}`);
        await page.waitForSelector(ready);
        if (then) await then(page);
        equal(await page.evaluate(() => [document.documentElement.lang, document.documentElement.dir,
          document.documentElement.dataset.theme]), [lang, lang === "ar" ? "rtl" : "ltr", theme], `${at}: language and theme`);
        await page.evaluate(axe);
        const found = await page.evaluate(() => axe.run(document));
        equal(found.violations.map((one) => `${one.id}: ${one.nodes[0].html.slice(0, 160)}`), [],
          `${at} in ${lang}, ${theme}: accessible`);
        check(found.passes.length > 10, `${at}: axe looked at something`);
        // In full in one language and theme; the others in a shorter pass.
        const widths = lang === "en" && theme === "light" ? [360, 820, 1440] : lang === "ar" && theme === "dark" ? [360, 1440] : [360];
        for (const width of widths) {
          await page.setViewportSize({ width, height: 900 });
          // Two frames: the page has been laid out for its width, and whatever watches it has answered.
          await page.evaluate(() => new Promise((go) => requestAnimationFrame(() => requestAnimationFrame(go))));
          const over = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
          check(over <= 0, `${at} in ${lang} at ${width} px reaches ${over} px over the edge`);
        }
        await page.setViewportSize({ width: 1440, height: 950 });
      }
    }
  equal(complaints, [], "the browser has nothing to complain of, in any language and theme");
} catch (error) {
  check(false, error.stack);
} finally {
  await browser.close();
  await stop(desk);
}
finish("web-desk");
