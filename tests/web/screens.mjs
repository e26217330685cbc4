// The screens, and what a teacher does on each.
import { ask, jobEnd } from "../server/desk.mjs";
import { buzz } from "../server/buzz.mjs";

let takeHeard = "", takeTwin = "", takeRefused = "";

// What opens within a screen is looked at too. `full`: in two of the four languages and themes only,
// where it takes its time.
export const screens = [
  { at: "/text/67:1-5", ready: ".mark" },
  { at: "/text/78:31-36", ready: ".mark", then: async (page) => {
    await page.locator(".word").nth(3).focus();
    await page.keyboard.press("Enter");
    await page.waitForSelector(".explain article");
  } },
  { at: "/find/examples?rules=ikhfa&in=78", ready: ".preview .mark" },
  { at: "/text/67:1-5", ready: ".mark", then: async (page) => {
    await page.getByRole("searchbox").fill("mercy");
    await page.getByRole("searchbox").press("Enter");
    await page.waitForSelector(".hits li, .chooser .trouble");
  } },
  { at: "/find/passages?rules=ikhfa&in=78", ready: ".preview .mark", then: async (page) => {
    await page.locator(".use-in button").first().click();
    await page.waitForSelector(".use-in select");
  } },
  { at: "/find/cover?rules=qalqala&in=112-114", ready: ".preview .mark" },
  { at: "/takes", ready: ".take-list li" },
  // Recording: the level, and the count before it. Nothing of it is kept, the page is left.
  { at: "/takes", ready: ".recorder button", full: true, then: async (page) => {
    const counted = page.locator(".recorder input[type=checkbox]");
    if (await counted.isChecked()) await counted.uncheck();
    await page.locator(".recorder button").click();
    await page.waitForSelector(".recorder .level");
  } },
  { at: "/takes/0000000000000000", ready: ".takes > .trouble" },
  { get at() { return `/takes/${takeRefused}`; }, ready: ".state .trouble" },
  { get at() { return `/takes/${takeHeard}`; }, ready: ".wave-site", full: true, then: async (page) => {
    await page.locator(".compare select").selectOption(takeTwin);
    await page.waitForSelector(".beside-site");
    await page.locator(".how-of-take summary").click();
    await page.waitForSelector(".how-of-take select");
  } },
  { get at() { return `/takes/${takeHeard}`; }, ready: ".wave-site", then: async (page) => {
    await page.locator(".take .bar button[aria-pressed=false]").last().click();
    await page.waitForSelector(".edge");
  } },
  { at: "/hear/67:1-5", ready: ".noted-list li", then: async (page) => {
    await page.locator(".noted-list li, .earlier li").first().waitFor();
    await page.locator(".word").nth(6).focus();
    await page.keyboard.press("Enter");
    await page.waitForSelector(".taps");
  } },
];

async function text({ page, check, equal }) {
  await page.waitForSelector(".mark");
  check(new URL(page.url()).hash === "", "the link's secret does not stay in the address");
  await page.getByRole("searchbox").fill("an-Naba 31-36");
  await page.getByRole("button", { name: "Open" }).click();
  await page.waitForSelector('[data-at="78:31:1"]');
  await page.waitForSelector(".leaf[aria-busy=false] .mark"); // of this passage: those of the last went with its words
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
  // A find goes into a new lesson, and the next one into the same.
  for (const [n, lesson] of [[0, "a new lesson"], [1, "A new lesson"]]) {
    const one = page.locator(".preview").nth(n);
    await one.getByRole("button", { name: "Use in lesson" }).click();
    await one.getByRole("option", { name: lesson, exact: true }).waitFor({ state: "attached" });
    await one.getByRole("combobox", { name: "Use in lesson" }).selectOption({ label: lesson });
    await one.getByRole("link", { name: "In the lesson now" }).waitFor();
  }
  const lesson = await page.evaluate(async () => {
    const { lessons } = await (await fetch("/api/lessons")).json();
    return (await fetch(`/api/lessons/${lessons[0].id}`)).json();
  });
  equal([lesson.text.split("[examples]")[1].trim().split("\n").length, lesson.problems.filter((one) => !one.advice)], [2, []], "two examples, and the lesson holds");
  await page.getByRole("button", { name: "Fewest verses for all" }).click();
  await page.locator(".found > section > p", { hasText: "no smaller set exists" }).waitFor(); // it says whether it is the smallest
  await page.getByRole("button", { name: "Passages" }).click();
  await page.waitForSelector(".found > .previews .preview .faint");
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
  // It comes back to its beginning by itself, and goes on playing.
  await page.evaluate(() => { window.heard = []; });
  await page.waitForFunction(() => {
    const { currentTime, paused } = document.querySelector("audio");
    window.heard.push(currentTime);
    return !paused && window.heard.length > 1 && currentTime < window.heard.at(-2);
  }, null, { polling: "raf" });
  const most = await page.evaluate(() => Math.max(...window.heard) * 1000);
  check(most <= site.end_ms + 1500, `over and over, and no other place: heard up to ${most}`);
  await page.evaluate(() => document.querySelector("audio").pause());
  await page.getByRole("checkbox", { name: "over and over" }).uncheck();

  // The sound's picture lies beneath, and what was measured under it.
  await page.waitForFunction(() => {
    const tones = [...document.querySelectorAll(".wave-tones")];
    return tones.length && tones.every((one) => one.complete && one.naturalHeight === 64);
  });
  await page.waitForFunction((words) => document.querySelectorAll(".wave-sound").length > words, report.words.length); // the sounds stand under their stretch

  // A word's beginning is moved by key and by mouse, kept as a pin, taken back.
  const pins = async () => (await ask(desk, "GET", `/api/takes/${takeHeard}/pins`)).json.pins;
  const until = async (holds, what) => {
    for (let turn = 0; turn < 100 && !holds(await pins()); turn++) await new Promise((go) => setTimeout(go, 50));
    check(holds(await pins()), what);
  };
  await page.getByRole("button", { name: "Correct where words begin" }).click();
  const edge = page.getByRole("slider", { name: `beginning of ${report.words[2].text} ${report.words[2].at}` }).first();
  await edge.focus();
  await page.keyboard.press("ArrowRight");
  await until((now) => now.length === 1 && now[0].at === report.words[2].at && now[0].ms === report.words[2].start_ms + 10, "an arrow moves a beginning by 10 ms");
  await edge.scrollIntoViewIfNeeded();
  const spot = await edge.boundingBox();
  await page.mouse.move(spot.x + spot.width / 2, spot.y + 20);
  await page.mouse.down();
  await page.mouse.move(spot.x + spot.width / 2 + 3, spot.y + 20, { steps: 3 });
  await page.mouse.up();
  await until((now) => now.length === 1 && now[0].ms > report.words[2].start_ms + 10, "it follows the mouse");
  await page.getByRole("button", { name: "Undo" }).click();
  await until((now) => now[0]?.ms === report.words[2].start_ms + 10, "undone, it lies where it was");
  // Its work may be done before a way to cancel it was ever drawn: the desk's own word is waited for.
  const [asked] = await Promise.all([
    page.waitForResponse((response) => response.url().endsWith(`/takes/${takeHeard}/listen`)),
    page.getByRole("button", { name: "Listen again" }).click(),
  ]);
  check(asked.ok(), "asked to listen again");
  const again = (await ask(desk, "GET", `/api/takes/${takeHeard}`)).json.job;
  if (again) equal((await jobEnd(desk, again, 200)).state, "done", "heard again with the beginning set");
  await page.getByRole("button", { name: "Cancel" }).waitFor({ state: "detached" });
  const moved = (await ask(desk, "GET", `/api/takes/${takeHeard}/report`)).json;
  equal(moved.words[2].start_ms, report.words[2].start_ms + 10, "the word begins where it was put");

  // Chosen to publish: a letter of the text can then be heard there.
  await page.getByRole("button", { name: "Choose this one to publish" }).click();
  await page.getByRole("button", { name: "Chosen to publish" }).waitFor();
  const sitting = page.url();
  await page.goto(new URL("/text/78:1-16", sitting).href);
  await page.locator('[data-at="78:2:1"]').waitFor();
  await page.locator('[data-at="78:2:1"]').focus();
  await page.keyboard.press("Enter");
  await page.getByRole("button", { name: "Hear the take there" }).click();
  const there = report.words.find((word) => word.at === "78:2:1");
  await page.waitForFunction((ms) => document.querySelector(".hear-there audio").currentTime * 1000 > ms, there.start_ms - 200);
  await page.getByRole("link", { name: "Open the take" }).click();
  await page.waitForURL(/takes\/\w+\?ms=/);

  // Two takes side by side; the same sound twice is as long as itself.
  await page.waitForSelector(".wave-site");
  const twin = (await ask(desk, "POST", "/api/takes?name=Twin&passage=78:1-16&listen=1", { body: buzz(reading), headers: { "content-type": "audio/wav" } })).json;
  takeTwin = twin.id;
  if (twin.job) await jobEnd(desk, twin.job, 200);
  await page.locator(`.compare option[value="${twin.id}"]`).waitFor({ state: "attached" });
  await page.getByLabel("Compare with").selectOption(twin.id);
  await page.waitForSelector(".beside-site", { timeout: 60000 }); // work of the desk, which may wait its turn
  await page.locator(".compare", { hasText: "1.00×" }).waitFor(); // as quick as itself

  // Recorded with the browser's own false microphone, which recites nothing: kept, and refused.
  await page.getByRole("link", { name: "All takes" }).click();
  await page.getByLabel("The passage").fill("112");
  await page.getByLabel("Name").fill("Microphone");
  await page.getByRole("checkbox", { name: "count in" }).check();
  await page.getByRole("spinbutton", { name: "Counts a minute" }).fill("240");
  const began = Date.now();
  await page.getByRole("button", { name: "Record", exact: true }).click();
  await page.locator(".count-in").waitFor();
  await page.getByRole("button", { name: /Stop and keep 0:0[2-9]/ }).waitFor();
  await page.getByRole("button", { name: /Stop and keep/ }).click();
  const sat = (Date.now() - began) / 1000;
  await page.waitForURL(/takes\/\w+$/);
  const recorded = takeRefused = page.url().split("/").pop();
  const { job } = (await ask(desk, "GET", `/api/takes/${recorded}`)).json;
  if (job) await jobEnd(desk, job);
  const { seconds } = (await ask(desk, "GET", `/api/takes/${recorded}/peaks`)).json;
  check(seconds > 1.5 && seconds < sat, `what was recorded is kept: ${seconds} s of ${sat}`);
  await page.waitForSelector(".state .trouble");
  await page.waitForSelector(".wave-line path");
  await page.locator(".state", { hasText: /^refused/ }).waitFor(); // a beep is not taken for a recitation, and the page says why
}

// One tap on a letter, one on what was heard; a desk that cannot be reached and a closed tab lose nothing.
async function hear({ page, origin, check, equal, desk }) {
  await page.goto(`${origin}/hear/67:1-5`);
  await page.locator(".noted-list, .hear .faint").first().waitFor();
  await page.getByLabel("Who recites").fill("Learner 1");
  const kept = async () => (await ask(desk, "GET", "/api/hearings?passage=67:1-5")).json.hearings.filter((one) => !one.undone)
    .map((one) => [one.at, one.what, one.note, one.who, one.rule]);
  const until = async (wanted, what) => {
    for (let turn = 0; turn < 100 && JSON.stringify(await kept()) !== JSON.stringify(wanted); turn++) await new Promise((go) => setTimeout(go, 50));
    equal(await kept(), wanted, what);
  };
  await page.locator(".scripture svg.marks").first().waitFor(); // in its own face, where it will stay
  const box = await page.locator('[data-at="67:1:1"]').boundingBox();
  await page.mouse.click(box.x + box.width - 4, box.y + box.height / 2);
  await page.getByRole("button", { name: "too short" }).click();
  const first = ["67:1:1:1", "short", "", "Learner 1", null];
  await until([first], "a tap on the letter, a tap on what was heard");
  await page.waitForSelector(".noted");

  // What often goes wrong at a letter comes from the engine's list.
  const often = (await ask(desk, "GET", "/api/faults?passage=67:1-5")).json;
  const place = often.letters.find((one) => one.at.startsWith("67:1:5:"));
  const fault = often.faults[place.faults[0].fault];
  await page.locator('[data-at="67:1:5"]').focus();
  await page.keyboard.press("Enter");
  await page.getByRole("button", { name: fault.name, exact: true }).click();
  const second = [place.at, fault.fault, "", "Learner 1", place.faults[0].rule];
  await until([second, first], "a fault of the list is kept with its place");
  await page.getByLabel(`Note ${place.at}`).fill("again next week");
  await page.getByLabel(`Note ${place.at}`).press("Tab");
  second[2] = "again next week";
  await until([second, first], "a note is kept");
  await page.getByLabel(`Note ${place.at}`).fill("again next week, slowly");
  await page.reload();
  second[2] = "again next week, slowly";
  await until([second, first], "also one that was being written when the page went");

  // By key, while the desk is away; the tab is closed before it is back.
  await page.route("**/api/hearings", (route) => route.request().method() === "POST" ? route.abort() : route.continue());
  await page.locator('.word[data-at="67:2:1"]').focus();
  await page.keyboard.press("Enter");
  await page.keyboard.press("4");
  await page.getByText("not yet with the desk").waitFor();
  await page.goto("about:blank");
  await page.unroute("**/api/hearings");
  await page.goto(`${origin}/hear/67:1-5`);
  const third = ["67:2:1", "long", "", "Learner 1", "madd_tabii"]; // the one length in that word
  await until([third, second, first], "nothing is lost on a closed tab");
  await page.locator(".noted-list li").nth(2).waitFor();
  await page.locator('.word[data-at="67:2:1"]').focus();
  await page.keyboard.press("u");
  await until([second, first], "U takes the last one back");
  await page.locator(".noted-list li").nth(2).waitFor({ state: "detached" });
  await page.locator(".earlier li").first().waitFor(); // hearings are listed
}

export const journeys = [text, find, takes, hear];
