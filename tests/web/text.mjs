// The text screen as it comes: painted with its words before any script has run, taken over as it
// stands, used by finger on a phone, and printed.
import { execFileSync } from "node:child_process";
import { rmSync } from "node:fs";
import path from "node:path";
import { check, equal, finish, folder } from "../server/desk.mjs";
import { visit } from "./visit.mjs";

const round = await visit();
const { page, origin, complaints, browser } = round;

// What stands on the page: elements, what they are called and hold. What the script alone knows (how it
// is read, the other suras, the marks) is left out.
const standing = () => {
  const leave = (one) => one.matches(".how .row, svg.marks, option:not(:checked), .scripture + .scripture");
  const say = (one, depth) => {
    if (one.nodeType === Node.TEXT_NODE) { // neighbours are one
      let text = one.previousSibling?.nodeType === Node.TEXT_NODE ? "" : one.data;
      for (let next = one.nextSibling; text && next?.nodeType === Node.TEXT_NODE; next = next.nextSibling) text += next.data;
      return text ? [`${depth}“${text}”`] : [];
    }
    if (one.nodeType !== Node.ELEMENT_NODE || leave(one)) return [];
    const told = [...one.attributes].filter(({ name }) => !["style", "selected", "checked", "value", "open", "disabled"].includes(name))
      .map(({ name, value }) => ` ${name}=${value}`).sort().join("");
    const state = ["value", "checked", "open", "disabled"].map((name) => one[name] === undefined || one.tagName === "BUTTON" && name === "value" ? "" : ` ${name}:${one[name]}`).join("");
    return [`${depth}<${one.localName}${told}${state}>`, ...[...one.childNodes].flatMap((child) => say(child, `${depth} `))];
  };
  return [`${document.documentElement.lang} ${document.documentElement.dir}`, ...say(document.getElementById("desk"), "")];
};
// Where the words are, and what colours there are.
const looks = () => ({
  words: [...document.querySelectorAll(".word, .medal, .gap, label, nav a, button")].filter((one) => !one.closest(".how .row")).map((one) => {
    const { x, y, width, height } = one.getBoundingClientRect();
    return [x, y, width, height].map((n) => Math.round(n)).join(" ");
  }),
  colours: ["--leaf", "--ink", "--ink-length", "--ink-own"].map((name) => getComputedStyle(document.documentElement).getPropertyValue(name)),
});

async function asItComes(at, lang, theme) {
  await page.goto(`${origin}/text/67:1-5`);
  await page.waitForSelector(".mark");
  if (await page.evaluate(() => document.documentElement.lang) !== lang) await page.locator(".tools button").first().click();
  if (await page.evaluate(() => document.documentElement.dataset.theme) !== theme) await page.locator(".tools button").nth(1).click();
  await page.waitForFunction(([l, t]) => document.documentElement.lang === l && document.documentElement.dataset.theme === t, [lang, theme]);
  const script = "**/desk-*.js";
  await page.route(script, (route) => route.abort());
  await page.goto(`${origin}/text/${at}`);
  await page.evaluate(() => document.fonts.ready);
  const came = await page.evaluate(standing), seen = await page.evaluate(looks);
  await page.unroute(script);
  await page.goto(`${origin}/text/${at}`);
  await page.waitForSelector(".mark");
  const stands = await page.evaluate(standing), look = await page.evaluate(looks);
  check(came.length > 150, `${at} in ${lang}: the page comes with its words`);
  equal(came.filter((one, n) => one !== stands[n]).slice(0, 3), [], `${at} in ${lang}: as it comes, so it is taken over`);
  equal(stands.filter((one, n) => one !== came[n]).slice(0, 3), [], `${at} in ${lang}: and nothing is added`);
  equal(seen.words.filter((one, n) => one !== look.words[n]), [], `${at} in ${lang}, ${theme}: nothing moves`);
  equal(seen.colours, look.colours, `${at} in ${lang}, ${theme}: no colour changes`);
}

try {
  // With its opening; with parts of verses; over a sura's end, and stops set by hand.
  await asItComes("67:1-5", "en", "light");
  await asItComes("78:31-36?arid=6", "ar", "dark");
  await asItComes("78:38:2-78:40:5", "en", "dark");
  await asItComes("112:1-113:2?stops=112:1:4,112:3:2", "ar", "light");
  await asItComes("67:1-3?lin=2&stops=67:1:5", "en", "light");
  // What has been turned off stays off from the first moment.
  await page.getByRole("checkbox", { name: "lengthening", exact: true }).uncheck();
  await asItComes("78:1-5", "en", "light");
  await page.getByRole("button", { name: "All", exact: true }).click();

  // Of a long passage the words that fill a screen come first; the others stand there once these are painted.
  await page.setViewportSize({ width: 1920, height: 1080 });
  await page.route("**/desk-*.js", (route) => route.abort());
  await page.goto(`${origin}/text/78:1-40`);
  const [filling, rest] = await page.evaluate(async () => {
    await document.fonts.ready;
    const words = (within) => [...within.querySelectorAll(".word")].map((one) => one.textContent);
    return [words(document), words(document.querySelector("template.rest").content)];
  });
  check(await page.evaluate(() => [...document.querySelectorAll(".word")].at(-1).getBoundingClientRect().top > innerHeight), "the first words fill the screen");
  await page.unroute("**/desk-*.js");
  await page.goto(`${origin}/text/78:1-40`);
  await page.waitForSelector(".mark");
  equal(await page.locator(".word").allTextContents(), [...filling, ...rest], "and the others follow in their order");
  check(rest.length > 50 && await page.locator("template.rest").count() === 0, `${rest.length} words wait to be painted`);
  await page.setViewportSize({ width: 1440, height: 950 });

  // Every sign is drawn within the room that it was given.
  await page.goto(`${origin}/text/78:1-40`);
  await page.waitForSelector(".mark");
  const out = await page.evaluate(() => [...document.querySelectorAll(".mark")].flatMap((mark) => {
    const { x, y, width, height } = mark.querySelector(".touch").getBBox();
    return [...mark.querySelectorAll("path")].map((path) => path.getBBox()).filter((box) => !box.width && !box.height
      || box.x < x || box.y < y - 1 || box.x + box.width > x + width || box.y + box.height > y + height + 1).map(() => mark.dataset.rule);
  }));
  equal(out, [], "every sign is drawn within its room");
  check(await page.evaluate(() => new Set([...document.querySelectorAll(".mark")].map((mark) => mark.querySelectorAll("path").length)).size) > 2, "signs of several kinds");

  // A hand that is quicker than the script loses nothing: neither a click, nor where the keyboard stands, nor a key pressed there.
  for (const hand of ["click", "stand", "press"]) {
    const quick = await page.context().newPage();
    await quick.addInitScript((does) => addEventListener("DOMContentLoaded", () => {
      const word = document.querySelectorAll(".word")[4];
      if (does === "click") word.click();
      else word.focus();
      if (does === "press") word.dispatchEvent(new KeyboardEvent("keydown", { key: "Enter", bubbles: true, cancelable: true }));
    }), hand);
    await quick.goto(`${origin}/text/67:1-5`);
    await quick.waitForSelector(".mark");
    if (hand !== "stand") {
      await quick.waitForSelector(".explain");
      equal(await quick.locator(".place-note").innerText(), await quick.locator(".word").nth(4).getAttribute("data-at"), `${hand}: a word met before the script is there is told about`);
    }
    if (hand !== "click") {
      equal(await quick.evaluate(() => [...document.querySelectorAll(".word")].indexOf(document.activeElement)), 4, `${hand}: the keyboard stands where it stood before the script was there`);
      equal(await quick.evaluate(() => [...document.querySelectorAll('.word[tabindex="0"]')].map((one) => one === document.activeElement)), [true], `${hand}: and comes back there`);
    }
    await quick.close();
  }

  // Stops set far away do not keep a word from being explained.
  const told = await page.request.get(`${origin}/api/explain?at=78:2:2&stops=78:38:4,78:39:2`);
  equal(told.status(), 200, "explained among stops that are elsewhere");

  // By finger.
  const phone = await browser.newContext({ viewport: { width: 360, height: 780 }, hasTouch: true, isMobile: true, locale: "en-GB" });
  await phone.addCookies(await page.context().cookies());
  const held = await phone.newPage();
  held.setDefaultTimeout(30000);
  await held.goto(`${origin}/text/78:31-40`);
  await held.waitForSelector(".mark");
  const tooSmall = () => held.evaluate(() => [...document.querySelectorAll("button, select, summary, nav a, label.family, input[type=search]")]
    .filter((one) => one.checkVisibility()).map((one) => [one, one.getBoundingClientRect()])
    .filter(([, box]) => box.height < 43.5).map(([one, box]) => `${one.outerHTML.slice(0, 80)} ${box.height}`));
  equal(await tooSmall(), [], "everything is high enough for a finger");
  const narrow = await held.evaluate(() => [...document.querySelectorAll(".word, .gap")].map((one) => [one, one.getBoundingClientRect()])
    .filter(([one, box]) => box.width < (one.matches(".gap") ? 24 : 20) || box.height < 44 || box.left < 0 || box.right > innerWidth).map(([one, box]) => `${one.textContent} ${box.width} × ${box.height}`));
  equal(narrow, [], "every word and every space between can be met, and none reaches over the edge");
  const tap = async (one) => {
    await one.scrollIntoViewIfNeeded();
    const box = await one.boundingBox();
    await held.touchscreen.tap(box.x + box.width / 2, box.y + box.height / 2);
  };
  const gap = held.locator(".gap").nth(2), pressed = await gap.getAttribute("aria-pressed");
  await tap(gap);
  await held.waitForFunction((was) => document.querySelectorAll(".gap")[2].getAttribute("aria-pressed") !== was, pressed);
  await held.waitForFunction(() => location.search.includes("stops="));
  await tap(held.locator(".word").nth(5));
  await held.waitForSelector(".explain[aria-busy=false]");
  equal(await tooSmall(), [], "what is told too");
  const at = await held.locator(".word").nth(5).getAttribute("data-at");
  check((await held.locator(".place-note").innerText()).startsWith(at), "a tap tells about the word");
  check(await held.evaluate(() => document.querySelectorAll(".word")[5].getBoundingClientRect().bottom < document.querySelector(".explain").getBoundingClientRect().top),
    "and the word stays in sight");
  const stop = held.getByRole("button", { name: "Stop after this word" }), stood = await stop.getAttribute("aria-pressed");
  await tap(stop);
  await held.waitForFunction((was) => document.querySelectorAll(".gap")[5].getAttribute("aria-pressed") !== was
    && document.querySelector(".stop-here").getAttribute("aria-pressed") !== was, stood);
  await tap(held.getByRole("button", { name: "Close", exact: true }));
  await held.locator(".explain").waitFor({ state: "detached" });
  await phone.close();

  // What is more than a page shows is there in parts; nothing typed is nothing asked.
  const search = page.getByRole("searchbox");
  await search.fill("juz 30");
  await search.press("Enter");
  await page.getByRole("link", { name: "78:1–87:19" }).waitFor();
  equal(await page.locator(".chooser .trouble").count(), 0, "a juz is nothing wrong");
  await page.getByRole("link", { name: "88:1–114:6" }).click();
  await page.waitForSelector('[data-at="88:1:1"]');
  equal(await page.locator(".chooser .hits").count(), 0, "and the list of parts has gone");
  let asked = 0;
  page.on("request", (request) => { if (/api\/(passage|search)/.test(request.url())) asked++; });
  await search.fill("  ");
  await search.press("Enter");
  await page.getByText("Write first which passage").waitFor();
  equal(asked, 0, "the desk is not asked for nothing");

  // In Arabic two are a dual, and a book has its Arabic name.
  await page.evaluate(() => localStorage.setItem("lang", "ar"));
  await page.goto(`${origin}/text/67:3`);
  await page.locator('[data-at="67:3:4"]').focus();
  await page.keyboard.press("Enter");
  await page.locator(".explain[aria-busy=false] article").first().waitFor();
  const two = page.locator(".explain article").filter({ hasText: "إخفاء" });
  equal(await two.locator(".counts").innerText(), "حركتان", "two counts");
  check((await two.locator("dd").last().innerText()).startsWith("الجمزوري، تحفة الأطفال"), "the source");
  await page.evaluate(() => localStorage.setItem("lang", "en"));

  // On paper: the words and their marks, and nothing to press.
  await page.goto(`${origin}/text/78:1-40`);
  await page.waitForSelector(".mark");
  await page.evaluate(() => addEventListener("beforeprint", () => {
    const paper = document.querySelector(".scripture + .scripture");
    window.printed = { words: [...paper.querySelectorAll(".word")].map((word) => word.textContent), marks: paper.querySelectorAll(".mark").length,
      lines: paper.querySelectorAll(".paper-line").length };
  }));
  const file = path.join(folder(), "text.pdf");
  await page.pdf({ path: file, format: "A4", preferCSSPageSize: true });
  const shown = execFileSync("pdftotext", [file, "-"], { encoding: "utf8" });
  for (const control of ["Open", "Sura", "Marks", "Sign out", "Print", "As a sheet", "Click a letter", "Close"])
    check(!shown.includes(control), `no “${control}” on paper`);
  check(shown.includes("78:1–40") && shown.includes("Text:"), "what it is and whose text");
  const printed = await page.evaluate(() => window.printed);
  equal(printed.words, await page.locator(".scripture:not(.on-paper) .word").allTextContents(), "every word");
  const sites = await page.locator(".mark").count();
  check(printed.marks >= sites - 10 && sites > 50, `and every mark: ${printed.marks}, ${sites} on the screen`);
  check(printed.lines > 12, `in lines: ${printed.lines}`);
  // What is drawn there has the inks of the notation.
  const ink = await page.evaluate(() => getComputedStyle(document.documentElement).getPropertyValue("--ink-length"));
  const [r, g, b] = [1, 3, 5].map((n) => parseInt(ink.slice(n, n + 2), 16));
  const ppm = execFileSync("pdftoppm", ["-r", "40", "-f", "1", "-l", "1", file], { maxBuffer: 1 << 26 });
  const start = /^P6\s+\d+\s+\d+\s+\d+\s/.exec(ppm.subarray(0, 40).toString("latin1"))[0].length;
  let near = 0;
  for (let n = start; n + 2 < ppm.length; n += 3)
    near += Math.abs(ppm[n] - r) + Math.abs(ppm[n + 1] - g) + Math.abs(ppm[n + 2] - b) < 120;
  check(near > 30, `rulers are drawn on paper: ${near} dots of their ink`);
  rmSync(file, { force: true });
  await page.waitForFunction(() => !document.querySelector(".on-paper"));
  equal(complaints, [], "the browser has nothing to complain of");
} catch (error) {
  check(false, error.stack);
} finally {
  await round.leave();
}
finish("web-text");
