// The screens, and what a teacher does on each.

export const screens = [
  { at: "/text/67:1-5", ready: ".mark" },
  { at: "/text/78:31-36", ready: ".mark", then: async (page) => {
    await page.locator(".word").nth(3).focus();
    await page.keyboard.press("Enter");
    await page.waitForSelector(".explain article");
  } },
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
  check(await marksNow() !== marksBefore || joined.length !== before.length, "the marks change at once");
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
  equal(await marksNow(), 0, "no family, no mark");
  await page.getByRole("checkbox", { name: "hiding", exact: true }).check();
  check(await marksNow() > 0, "one family, its marks");
  const families = await page.locator(".mark").evaluateAll((marks) => [...new Set(marks.map((mark) => mark.dataset.rule))]);
  equal(families, ["ikhfa"], "and no other");
  await page.getByRole("button", { name: "All", exact: true }).click();

  // A word of the translation.
  await page.getByRole("searchbox").fill("earth as a resting place");
  await page.getByRole("searchbox").press("Enter");
  await page.waitForFunction(() => document.querySelector(".hits li, .chooser .trouble"));
  check(await page.locator(".hits li").count() > 0 || await page.locator(".chooser .trouble").isVisible(), "a search answers");
}

export const journeys = [text];
