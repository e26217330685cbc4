// A teacher's first evening in the browser: sign in, find a passage, set a stop, ask about a letter.
// Then every screen in both languages and themes: axe-core (Deque's checks of WCAG, MPL-2.0) finds
// nothing to say, and nothing reaches over the edge from a phone to a projector.
import { existsSync, readFileSync } from "node:fs";
import path from "node:path";
import { chromium } from "playwright-core";
import { ask, check, equal, finish, folder, source, start, stop } from "../server/desk.mjs";
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

// What axe-core has to say of a page that carries it.
async function complained(at_page, where) {
  const found = await at_page.evaluate(() => axe.run(document));
  if (where) check(found.passes.length > 10, `${where}: axe looked at something`);
  return found.violations.map((one) => `${one.id}: ${one.nodes[0].html.slice(0, 160)}`);
}

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
      for (const { at, ready, then, full } of screens) {
        // In full in one language and theme; the others in a shorter pass.
        const widths = lang === "en" && theme === "light" ? [360, 820, 1440] : lang === "ar" && theme === "dark" ? [360, 1440] : [360];
        if (full && widths.length === 1) continue;
        await page.goto(`${origin}${at}`);
        await page.waitForSelector(ready);
        // As the page came it may have been in another language: the script has the last word.
        await page.waitForFunction((wanted) => {
          const { lang: l, dir, dataset } = document.documentElement;
          return [l, dir, dataset.theme].join() === wanted;
        }, [lang, lang === "ar" ? "rtl" : "ltr", theme].join());
        if (then) await then(page);
        await page.evaluate(axe);
        equal(await complained(page, at), [], `${at} in ${lang}, ${theme}: accessible`);
        for (const width of widths) {
          await page.setViewportSize({ width, height: 900 });
          // Two frames: the page has been laid out for its width, and whatever watches it has answered.
          await page.evaluate(() => new Promise((go) => requestAnimationFrame(() => requestAnimationFrame(go))));
          const over = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
          check(over <= 0, `${at} in ${lang} at ${width} px reaches ${over} px over the edge`);
          // What stands otherwise on a phone is accessible there too.
          if (width === 360 && widths.length > 1) equal(await complained(page), [], `${at} in ${lang}, ${theme} on a phone: accessible`);
        }
        await page.setViewportSize({ width: 1440, height: 950 });
      }
    }
  equal(complaints, [], "the browser has nothing to complain of, in any language and theme");

  // Who is not signed in: with the link alone, then with a passphrase; after a link that was used.
  const stranger = await (await browser.newContext({ viewport: { width: 360, height: 800 }, locale: "en-GB" })).newPage();
  const four = [["en", "light"], ["en", "dark"], ["ar", "light"], ["ar", "dark"]];
  await stranger.goto(`${origin}/text`);
  const seen = async (at, ready, looks) => {
    for (const [lang, theme] of looks) {
      await stranger.evaluate(([l, t]) => {
        localStorage.setItem("lang", l);
        localStorage.setItem("theme", t);
      }, [lang, theme]);
      await stranger.goto("about:blank"); // away, so that the link is met afresh
      await stranger.goto(`${origin}${at}`);
      await stranger.locator(ready).first().waitFor();
      await stranger.waitForFunction(([l, t]) => document.documentElement.lang === l && document.documentElement.dataset.theme === t, [lang, theme]);
      await stranger.evaluate(axe);
      equal(await complained(stranger, at), [], `signing in, ${at.slice(0, 8)}, in ${lang}, ${theme}: accessible`);
      check(await stranger.evaluate(() => document.documentElement.scrollWidth <= innerWidth), "and within a phone");
    }
  };
  await seen("/text", "main.door a[href='/mine']", four);
  equal((await ask(desk, "PUT", "/api/passphrase", { body: { passphrase: "lamp river seven" } })).status, 204, "a passphrase is set");
  await seen("/takes", "main input[type=password]", four);
  await seen(`/#enter=${desk.link}`, "main .trouble", [four[0], four[3]]); // each is a try, and five a minute are let through
} catch (error) {
  check(false, error.stack);
} finally {
  await browser.close();
  await stop(desk);
}
finish("web-desk");
