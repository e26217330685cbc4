// Pictures of the desk for docs/gallery, of an evening class in a town library: hiding and the echo
// letters. The recitation is made of tones, nobody is recorded.
//   MISTARA_BUILD_ROOT=… MISTARA_SOURCE_ROOT=… MISTARA_TEXT=… node tools/gallery-desk.mjs FOLDER
import path from "node:path";
import { chromium } from "playwright-core";
import { ask, folder, jobEnd, start, stop } from "../tests/server/desk.mjs";
import { buzz } from "../tests/server/buzz.mjs";
import { agrees, handsIn, made, person } from "../tests/server/class.mjs";

const to = process.argv[2] ?? "docs/gallery";
const desk = await start(folder());
const origin = `http://127.0.0.1:${desk.port}`;
const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
  args: ["--no-sandbox", "--disable-gpu", "--hide-scrollbars"],
});
let failed = false;
try {
  const context = await browser.newContext({ viewport: { width: 1200, height: 800 }, locale: "en-GB" });
  const page = await context.newPage();
  await page.goto(`${origin}/#enter=${desk.link}`);
  await page.waitForSelector(".leaf .mark");
  desk.cookie = (await context.cookies()).map((one) => `${one.name}=${one.value}`).join("; ");
  desk.token = (await ask(desk, "GET", "/api/session")).json.token;
  const post = async (url, body) => (await ask(desk, "POST", url, { body })).json;

  // What a class leaves behind in a few weeks.
  const { text } = await post("/api/lessons/draft", { rules: "ikhfa,qalqala", in: "67,78" });
  const lesson = await post("/api/lessons", { text });
  for (const [at, what] of [["67:1:1:4", "long"], ["67:2:1:2", "short"], ["67:3:7:1", "nasal"], ["67:4:3:2", "echo"]])
    await post("/api/hearings", { at, what, note: what === "echo" ? "again next week" : "", who: "Learner 1", rule: null });
  const reading = (await ask(desk, "GET", "/api/reading?passage=78:1-5")).json;
  const take = (await ask(desk, "POST", "/api/takes?name=Evening%20class&passage=78:1-5&listen=1",
    { body: buzz(reading), headers: { "content-type": "audio/wav" } })).json;
  if (take.job) await jobEnd(desk, take.job, 400);

  // A class of it: a recitation with two holds let go early, heard beside the teacher's own.
  const evening = (await made(desk, "/api/classes", { name: "Evening class, town library" })).id;
  const holds = (await ask(desk, "GET", "/api/reading?passage=78:1-16")).json;
  const nasal = holds.sounds.flatMap((sound, n) => (sound.nasal && sound.counts >= 2 ? [n] : []));
  const early = { ...holds, sounds: holds.sounds.map((sound, n) => (n === nasal[1] || n === nasal[4] ? { ...sound, share: 0.42 } : sound)) };
  const model = (await ask(desk, "POST", "/api/takes?name=Model&passage=78:1-16&listen=1", { body: buzz(holds, { seed: 3 }), headers: { "content-type": "audio/wav" } })).json;
  await jobEnd(desk, model.job, 400);
  const voice = await post("/api/voices", { name: "teacher", takes: [model.id] });
  await jobEnd(desk, voice.id, 400);
  await ask(desk, "PATCH", `/api/takes/${model.id}`, { body: { voice: "teacher" } });
  const work = (await made(desk, `/api/classes/${evening}/assignments`, { title: "The holds", passage: "78:1-16", take: model.id })).id;
  await made(desk, `/api/classes/${evening}/assignments`, { title: "الإخفاء والقلقلة", passage: "67:3-4", rules: "ikhfa qalqala",
    attend: "غنة النون المخفاة حركتان، من الأنف." });
  const learners = [];
  for (const label of ["Learner 1", "Learner 2"]) {
    learners.push(await person(desk, evening, label));
    await agrees(learners.at(-1));
  }
  const heard = [];
  for (const [n, sound] of [buzz(early, { seed: 12 }), buzz(holds, { seed: 11 })].entries()) heard.push((await handsIn(learners[n], work, sound)).id);
  for (const id of heard)
    while (["received", "listening"].includes((await ask(desk, "GET", `/api/submissions/${id}`)).json.state)) await new Promise((wake) => setTimeout(wake, 200));

  const desktop = page;
  const shoot = async (name, lang, theme, at, ready, then, page = desktop) => {
    await page.evaluate(([l, t]) => {
      localStorage.setItem("lang", l);
      localStorage.setItem("theme", t);
      localStorage.setItem("who", "Learner 1");
      localStorage.setItem("families", "length hide echo");
    }, [lang, theme]);
    await page.goto(`${origin}${at}`);
    await page.waitForSelector(ready);
    if (then) await then();
    await page.evaluate(() => document.fonts.ready);
    await page.waitForFunction(() => [...document.images].every((one) => one.loading === "lazy" || one.complete));
    await page.mouse.move(2, 2);
    await page.screenshot({ path: path.join(to, `desk-${name}.png`) });
    console.log(`desk-${name}.png`);
  };
  await shoot("text", "en", "light", "/text/67:3-4", ".leaf .mark", async () => {
    await page.locator(".mark[data-rule=ikhfa] .touch").first().click();
    await page.waitForSelector(".explain article");
  });
  await shoot("find", "ar", "light", "/find/examples?rules=qalqala&in=67", ".preview .mark");
  await shoot("lesson", "en", "light", `/lessons/${lesson.id}`, "main h2", async () => {
    await page.getByRole("heading", { name: "Examples" }).first().evaluate((one) => { one.scrollIntoView(); scrollBy(0, -110); });
    await page.locator(".scripture .mark").first().waitFor();
  });
  await shoot("takes", "en", "dark", `/takes/${take.id}`, ".wave-site", async () => {
    await page.locator(".wave-tones").first().scrollIntoViewIfNeeded();
    await page.waitForFunction(() => document.querySelector(".wave-tones").naturalWidth > 0 && document.querySelector(".wave-line path").getAttribute("d"));
    await page.evaluate(() => scrollTo(0, 0));
  });
  await shoot("hear", "ar", "dark", "/hear/67:1-4", ".noted", async () => {
    await page.locator('[data-at="67:3:1"]').focus();
    await page.keyboard.press("Enter");
    await page.waitForSelector(".taps");
  });
  await shoot("listening", "en", "light", `/listening/${evening}/${heard[0]}`, ".site-card .ear-says", async () => {
    await page.locator(".site-list button").filter({ hasText: "shorter than wanted" }).first().click();
    await page.waitForSelector(".site-card .rulers");
  });
  const phone = await browser.newContext({ viewport: { width: 400, height: 800 }, deviceScaleFactor: 2, locale: "en-GB" });
  await phone.addCookies([{ name: "mistara", value: learners[0].cookie.split("=").slice(1).join("="), url: origin }]);
  const learner = await phone.newPage();
  await learner.goto(`${origin}/mine`);
  await learner.waitForSelector(".given");
  await shoot("learner", "ar", "light", new URL(await learner.getByRole("link", { name: "الإخفاء والقلقلة" }).getAttribute("href"), origin).pathname, ".assignment .mark", null, learner);
} catch (error) {
  console.error(error.stack);
  failed = true;
} finally {
  await browser.close();
  await stop(desk);
}
process.exit(failed ? 1 : 0);
