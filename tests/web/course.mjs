// The plan of a year: begun from the two poems' chapters, put in another order, given its evenings,
// held against the text; a lesson is written from it and opened again.
import { ask, check, equal, finish } from "../server/desk.mjs";
import { look, visit } from "./visit.mjs";

const here = await visit();
const { desk, page, complaints } = here;
const text = async () => (await ask(desk, "GET", "/api/course")).json.text;
async function kept(holds, what) {
  for (let tries = 0; tries < 200; tries++) {
    const now = await text();
    if (holds(now)) return now;
    await new Promise((wake) => setTimeout(wake, 50));
  }
  check(false, `${what}; the desk has:\n${(await text()).slice(0, 1500)}`);
  return text();
}
const titles = (all) => all.split("[lesson]\n").slice(1).map((one) => /^title: (.*)$/m.exec(one)[1]);
const item = (n) => page.locator(".lessons-of-course > li").nth(n);

// A short plan whose faults are known: the echo twice, one juz read, hiding never.
const short = `mistara course 1
# for the town library
title: Our evenings
assumed: weight, hamzat_wasl, waqf_sukun

[lesson]
title: Echo
title ar: القلقلة
chapter: Tuḥfat al-aṭfāl
rules: qalqala
examples: 112
passage: juz 30

[lesson]
title: Before a stop
chapter: al-Jazariyya
rules: madd_arid
examples: 108
`;

try {
  // From the plan that is brought along.
  await page.getByRole("link", { name: "Course", exact: true }).click();
  await page.getByRole("button", { name: "Begin with the plan of the two poems" }).click();
  await page.locator(".planned").first().waitFor();
  const given = (await ask(desk, "GET", "/api/course/default")).json.text;
  equal(await kept((now) => now === given, "the given plan is the course"), given, "as it stands, remarks and all");
  equal(await page.locator(".planned h3").allInnerTexts(), titles(given), "every lesson, in its order");
  const chapters = await page.locator(".chapter").allInnerTexts();
  check(chapters.some((one) => one.includes("Tuḥfat")) && chapters.some((one) => one.includes("Jazariyya")), "the chapters of both poems");

  // A plan of one's own.
  await page.getByRole("button", { name: "As text" }).click();
  await page.getByLabel("The course’s file").fill(short);
  await kept((now) => now === short, "the plan as typed");
  await page.getByRole("button", { name: "As a page" }).click();
  await page.waitForSelector(".missing .gaps li", { timeout: 120000 });
  await page.locator(".missing", { hasText: "Never taught" }).filter({ hasText: "1, 2, 3" }).waitFor({ timeout: 120000 });
  const missing = await page.locator(".missing").innerText();
  check(/hiding/.test(missing) && /Never taught/.test(missing), "what is never taught is named");
  check(missing.includes(Array.from({ length: 29 }, (_, n) => n + 1).join(", ")), "so are the juz that are never read");
  equal(await page.locator(".juz circle").count(), 29, "and the ruler has a gap for each of them");
  check((await page.locator(".gaps").innerText()).includes("Lesson 1"), "letters of the echo that sura 112 does not have");

  // Order and days.
  await item(0).getByRole("button", { name: /^Move down/ }).click();
  equal(titles(await kept((now) => titles(now)[0] === "Before a stop", "put in another order")), ["Before a stop", "Echo"], "both are there");
  check((await text()).includes("# for the town library"), "a remark stays");
  await page.keyboard.press("Control+z");
  await kept((now) => now === short, "undone");
  await item(0).getByLabel("Date").fill("2026-12-01");
  await kept((now) => now.includes("date: 2026-12-01"), "the first evening");
  await item(0).getByRole("button", { name: "Weekly from here" }).click();
  await kept((now) => now.includes("date: 2026-12-08"), "the second a week later");

  // A lesson written from the plan.
  await item(0).getByRole("button", { name: "Write this lesson: Echo" }).click();
  await page.waitForURL(/lessons\/[a-z0-9]{16}$/);
  const id = page.url().split("/").pop();
  const lesson = (await ask(desk, "GET", `/api/lessons/${id}`)).json.text;
  check(/^title: Echo$/m.test(lesson) && /^title ar: القلقلة$/m.test(lesson) && /^rules: qalqala$/m.test(lesson), "with the plan's title and rule");
  check(/^known: .*hamzat_wasl/m.test(lesson), "and what the class knows by then");
  await kept((now) => now.includes(`file: ${id}.lesson`), "the plan knows its lesson");
  await page.getByRole("link", { name: "Course", exact: true }).click();
  await item(0).getByRole("link", { name: "Open the lesson" }).click();
  await page.waitForURL(new RegExp(`lessons/${id}$`));

  await look(here, "/course", [".planned", ".missing .juz"], "en", "light");
  await look(here, "/course", [".planned", ".missing .juz"], "ar", "dark");
  await look(here, "/course", [".planned", ".missing .juz"], "en", "dark", async () => {
    await page.locator(".planned details > summary").last().click();
    await page.waitForSelector(".planned details[open] input");
  });
  await look(here, "/course", [".planned", ".missing .juz"], "ar", "light", async () => {
    await page.locator(".choice button[aria-pressed=false]").first().click();
    await page.waitForSelector(".file-text");
  });
  equal(complaints, [], "the browser has nothing to complain of");
} catch (error) {
  check(false, error.stack);
} finally {
  await here.leave();
}
finish("web-course");
