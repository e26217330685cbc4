// The screens, and what a teacher does on each.
import { ask, jobEnd } from "../server/desk.mjs";
import { buzz } from "../server/buzz.mjs";

let takeHeard = "";

export const screens = [
  { at: "/text/67:1-5", ready: ".mark" },
  { at: "/text/78:31-36", ready: ".mark", then: async (page) => {
    await page.locator(".word").nth(3).focus();
    await page.keyboard.press("Enter");
    await page.waitForSelector(".explain article");
  } },
  { at: "/find/examples?rules=ikhfa&in=78", ready: ".preview .mark" },
  { at: "/find/cover?rules=qalqala&in=112-114", ready: ".preview .mark" },
  { at: "/takes", ready: ".take-list li" },
  { get at() { return `/takes/${takeHeard}`; }, ready: ".wave-site" },
];

async function text({ page, check, equal }) {
  await page.waitForSelector(".mark");
  check(new URL(page.url()).hash === "", "the link's secret does not stay in the address");
  await page.getByRole("searchbox").fill("an-Naba 31-36");
  await page.getByRole("button", { name: "Open" }).click();
  await page.waitForSelector('[data-at="78:31:1"]');
  check(page.url().includes("/text/78:31-36"), "the address tells the passage");
  equal(await page.evaluate(() => document.fonts.check("20px scripture", "ا")), true, "the scripture's font is there");

  // Every word stands there as the server sent it, and every mark within reach of its letters.
  const same = await page.evaluate(async () => {
    const reading = await (await fetch("/api/reading?passage=78:31-36")).json();
    return [...document.querySelectorAll(".word")].map((word) => word.textContent).join(" ")
      === reading.words.map((word) => word.display).join(" ");
  });
  check(same, "the words are the server's, unaltered");

  // Joining mafāzan to ḥadāʾiqa brings tanwīn before ḥāʾ; stopping there takes it away.
  const rules = () => page.evaluate(async () => (await (await fetch("/api/reading?passage=78:31-36"
    + location.search.replace("?", "&"))).json()).sites.map((site) => `${site.rule} ${site.at}`));
  const marksNow = () => page.locator(".mark").count();
  const before = await rules();
  const gap = page.locator('[data-at="78:31:3"] ~ .gap').first();
  equal(await gap.getAttribute("aria-pressed"), "true", "a verse's end is a stop at first");
  const marksBefore = await marksNow();
  await gap.click();
  await page.waitForFunction(() => document.querySelector('[data-at="78:31:3"] ~ .gap').getAttribute("aria-pressed") === "false");
  const joined = await rules();
  check(joined.some((site) => site.startsWith("izhar_halqi 78:31:3")), "joined: tanwīn before ḥāʾ is clear");
  check(!before.some((site) => site.startsWith("izhar_halqi 78:31:3")), "stopped: it is not");
  await page.waitForFunction((n) => document.querySelectorAll(".mark").length !== n, marksBefore);
  check(joined.join() !== before.join(), "the marks change at once");
  await page.locator('[data-at="78:31:3"]').focus();
  await page.keyboard.press("s");
  await page.waitForFunction(() => document.querySelector('[data-at="78:31:3"] ~ .gap').getAttribute("aria-pressed") === "true");
  equal(await rules(), before, "S sets the stop again, and all is as before");

  // A letter: the nūn of kun(tu) in 78:40 is hidden before tāʾ.
  await page.goto(page.url().replace(/\/text\/.*/, "/text/78:40"));
  await page.waitForSelector(".mark[data-rule=ikhfa]");
  await page.locator(".mark[data-rule=ikhfa] .touch").last().click();
  await page.waitForSelector(".explain article");
  const told = await page.locator(".explain").innerText();
  for (const part of ["hiding", "2 counts", "WHY", "MOUTH", "SOURCE", "Jamz"])
    check(told.toUpperCase().includes(part.toUpperCase()), `a letter's rule is told with “${part}”`);
  const box = await page.locator('[data-at="78:40:14"]').boundingBox();
  await page.mouse.click(box.x + box.width - 4, box.y + box.height / 2);
  await page.waitForFunction(() => document.querySelector(".place-note").textContent.startsWith("78:40:14:1"));
  await page.keyboard.press("Escape");

  // Families come and go.
  await page.getByRole("button", { name: "None", exact: true }).click();
  await page.locator(".mark").first().waitFor({ state: "detached" });
  equal(await marksNow(), 0, "no family, no mark");
  await page.getByRole("checkbox", { name: "hiding", exact: true }).check();
  await page.locator(".mark").first().waitFor({ state: "attached" });
  const families = await page.locator(".mark").evaluateAll((marks) => [...new Set(marks.map((mark) => mark.dataset.rule))]);
  equal(families, ["ikhfa"], "and no other");
  await page.getByRole("button", { name: "All", exact: true }).click();

  // A word of the translation.
  await page.getByRole("searchbox").fill("earth as a resting place");
  await page.getByRole("searchbox").press("Enter");
  await page.waitForFunction(() => document.querySelector(".hits li, .chooser .trouble"));
  check(await page.locator(".hits li").count() > 0 || await page.locator(".chooser .trouble").isVisible(), "a search answers");
}

async function find({ page, check, equal }) {
  await page.getByRole("link", { name: "Find", exact: true }).click();
  await page.getByLabel("Where").fill("78");
  await page.getByRole("button", { name: "Find", exact: true }).click();
  await page.waitForSelector(".preview .mark");
  await page.waitForFunction(() => location.search.includes("in=78"));
  const groups = await page.locator(".found section").count();
  check(groups >= 5 && groups <= 15, `hiding has at most fifteen letters: ${groups} groups`);
  equal(await page.locator(".preview .mark").evaluateAll((marks) => [...new Set(marks.map((mark) => mark.dataset.rule))]),
    ["ikhfa"], "a preview marks what was looked for");
  await page.getByRole("button", { name: "Fewest verses for all" }).click();
  await page.waitForSelector(".found > section > p");
  check((await page.locator(".found > section > p").innerText()).includes("no smaller set exists"), "a covering set says whether it is the smallest");
  await page.getByRole("button", { name: "Passages" }).click();
  await page.waitForSelector(".preview .faint");
  await page.locator(".preview a").first().click();
  await page.waitForSelector(".leaf .mark");
  check(page.url().includes("/text/"), "a find opens as text");
}

async function takes({ page, check, equal, desk }) {
  // The browser's session is the desk's only one: sign in beside it with its cookie.
  desk.cookie = (await page.context().cookies()).map((one) => `${one.name}=${one.value}`).join("; ");
  desk.token = (await ask(desk, "GET", "/api/session")).json.token;
  const reading = (await ask(desk, "GET", "/api/reading?passage=78:1-16")).json;
  await page.getByRole("link", { name: "Takes", exact: true }).click();
  await page.getByLabel("The passage").fill("78:1-16");
  await page.getByLabel("Name").fill("Evening class");
  await page.getByLabel("or a sound file").setInputFiles({ name: "class.wav", mimeType: "audio/wav", buffer: buzz(reading) });
  await page.waitForURL(/takes\/\w+$/);
  takeHeard = page.url().split("/").pop();
  const take = (await ask(desk, "GET", `/api/takes/${takeHeard}`)).json;
  equal([take.name, take.passage], ["Evening class", "78:1-16"], "the take as named");
  if (take.job) equal((await jobEnd(desk, take.job, 200)).state, "done", "the take is heard");
  await page.waitForSelector(".wave-site");
  const report = (await ask(desk, "GET", `/api/takes/${takeHeard}/report`)).json;
  equal(await page.locator("tbody tr").count(), report.sites.length, "every site measured is told");
  await page.getByRole("checkbox", { name: "over and over" }).check();
  await page.locator("tbody button").nth(4).click();
  await page.waitForFunction(() => !document.querySelector("audio").paused);
  const at = await page.evaluate(() => document.querySelector("audio").currentTime * 1000);
  const site = report.sites[4];
  check(at >= site.start_ms - 300 && at <= site.end_ms + 400, `one site is played: at ${at}, it is ${site.start_ms}–${site.end_ms}`);
  await page.waitForTimeout(site.end_ms - site.start_ms + 900);
  const later = await page.evaluate(() => [document.querySelector("audio").paused, document.querySelector("audio").currentTime * 1000]);
  check(!later[0] && later[1] <= site.end_ms + 400, "over and over");
  await page.evaluate(() => document.querySelector("audio").pause());

  // Recorded with the browser's own false microphone, which recites nothing: kept, and refused.
  await page.getByRole("link", { name: "All takes" }).click();
  await page.getByLabel("The passage").fill("112");
  await page.getByLabel("Name").fill("Microphone");
  await page.getByRole("button", { name: "Record", exact: true }).click();
  await page.waitForTimeout(2500);
  await page.getByRole("button", { name: /Stop and keep/ }).click();
  await page.waitForURL(/takes\/\w+$/);
  const recorded = page.url().split("/").pop();
  const { job } = (await ask(desk, "GET", `/api/takes/${recorded}`)).json;
  if (job) await jobEnd(desk, job);
  const { seconds } = (await ask(desk, "GET", `/api/takes/${recorded}/peaks`)).json;
  check(seconds > 1.5 && seconds < 6, `what was recorded is kept: ${seconds} s`);
  await page.waitForSelector(".state .trouble");
  await page.waitForSelector(".wave-line path");
  check((await page.locator(".state").innerText()).includes("refused"), "a beep is not taken for a recitation, and the page says why");
}

export const journeys = [text, find, takes];
