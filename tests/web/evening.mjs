// One evening, from the first start to what is handed out, on the screens alone: the printed link, a
// find, a lesson, a take through the browser's microphone, its measures, its film, captions and
// handout fetched, and the desk killed in the middle of its work. The microphone is fed from a file:
// sounds made by the test (buzz.mjs), or with MISTARA_AUDIO a recitation, SSSVVV.mp3 in its folder a.
import { execFileSync } from "node:child_process";
import { existsSync, readFileSync, writeFileSync } from "node:fs";
import path from "node:path";
import { chromium } from "playwright-core";
import { ask, check, equal, finish, folder, opened, start, stop } from "../server/desk.mjs";
import { buzz } from "../server/buzz.mjs";

const browser_path = process.env.CHROMIUM ?? "/usr/bin/chromium";
if (!existsSync(browser_path)) {
  console.log(`skipped: there is no Chromium at ${browser_path}`);
  process.exit(77);
}
const recitations = process.env.MISTARA_AUDIO && path.join(process.env.MISTARA_AUDIO, "a");
const recited = recitations && existsSync(recitations);
const rule = "qalqala", sura = "112";

// What the microphone will hear, with a second of room before and after.
const room = folder(), microphone = path.join(room, "microphone.wav");
let seconds;
{
  const raw = path.join(room, "raw.wav");
  if (recited) {
    const list = path.join(room, "verses.txt");
    writeFileSync(list, [1, 2, 3, 4].map((verse) => `file '${path.join(recitations, `${sura}00${verse}.mp3`)}'\n`).join(""));
    execFileSync("ffmpeg", ["-v", "error", "-f", "concat", "-safe", "0", "-i", list, "-ac", "1", raw]);
  } else {
    const other = await opened(folder(), ["--quiet"]);
    writeFileSync(raw, buzz((await ask(other, "GET", `/api/reading?passage=${sura}`)).json));
    await stop(other);
  }
  execFileSync("ffmpeg", ["-v", "error", "-i", raw, "-af", "adelay=1000,apad=pad_dur=2", "-ar", "48000", "-ac", "1", microphone]);
  seconds = Number(execFileSync("ffprobe", ["-v", "error", "-show_entries", "format=duration", "-of", "csv=p=0", raw])) + 1.5;
}

const data = folder();
let desk = await start(data);
const origin = `http://127.0.0.1:${desk.port}`;
const browser = await chromium.launch({
  executablePath: browser_path,
  args: ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking", "--disable-component-update",
    "--disable-sync", "--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream", `--use-file-for-fake-audio-capture=${microphone}%noloop`],
});
const context = await browser.newContext({ viewport: { width: 1440, height: 950 }, locale: "en-GB", acceptDownloads: true });
const page = await context.newPage();
page.setDefaultTimeout(60000);
const complaints = [];
page.on("console", (message) => {
  // A desk that is away is told by the pages themselves.
  if (message.type() === "error" && !/^Failed to load resource|ERR_(CONNECTION|INCOMPLETE|EMPTY)/.test(message.text())) complaints.push(message.text());
});
page.on("pageerror", (error) => complaints.push(error.message));
const screen = (name) => page.getByRole("link", { name, exact: true }).click();
async function download(link) {
  const [fetched] = await Promise.all([page.waitForEvent("download"), link.click()]);
  return { name: fetched.suggestedFilename(), bytes: readFileSync(await fetched.path()) };
}

try {
  // The link that was printed, followed once.
  await page.goto(`${origin}/#enter=${desk.link}`);
  await page.locator(".mark").first().waitFor();

  // A passage with the echo, found and put into a new lesson.
  await screen("Find");
  await page.getByRole("button", { name: "Examples" }).waitFor();
  await page.getByRole("combobox", { name: "Rule" }).selectOption(rule);
  await page.getByLabel("Where").fill(sura);
  await page.getByRole("button", { name: "Find", exact: true }).click();
  await page.waitForFunction((of) => location.search.includes(`in=${of}`), sura);
  const find = page.locator(".preview").first();
  await find.locator(".mark").first().waitFor();
  await find.getByRole("button", { name: "Use in lesson" }).click();
  await find.getByRole("combobox", { name: "Use in lesson" }).selectOption({ label: "a new lesson" });
  await find.getByRole("link", { name: "In the lesson now" }).click();
  await page.waitForURL(/lessons\/[a-z0-9]{16}$/);
  const lesson = page.url().split("/").pop();

  // The lesson built on its page.
  await page.getByLabel("Title in English").fill("The echo on Tuesday");
  await page.getByLabel("Add a passage").fill("al-Ikhlas");
  await page.getByLabel("Add a passage").press("Enter");
  await page.locator(".sheet-page img").first().waitFor();
  await page.getByLabel("Add a question").selectOption("mark");
  await page.locator(".questions > li").first().waitFor();
  await page.getByText("The pages as they will be").click();
  await page.locator(".pages .sheet-page img").waitFor();
  const pages = page.locator(".pages figcaption");
  check(/Page 1\/[2-9]/.test(await pages.innerText()), `the handout's pages: ${await pages.innerText()}`);
  const leaf = await page.locator(".pages img").getAttribute("src");
  await pages.getByRole("button", { name: "After" }).click();
  await page.waitForFunction((was) => document.querySelector(".pages img").src !== was, leaf);
  await page.locator('.save-state[data-state="saved"]').waitFor();

  // A take through the microphone. On a machine that is too busy to keep up with it the sound has
  // holes, the ear refuses it and says so; a teacher then records once more.
  let heard = "";
  for (let turn = 0; turn < 3 && !heard; turn++) {
    await screen("Takes");
    await page.getByLabel("The passage").fill(sura);
    await page.getByLabel("Name").fill("Evening class");
    await page.getByRole("checkbox", { name: "without the basmala" }).setChecked(!!recited);
    await page.getByRole("button", { name: "Record", exact: true }).click();
    await page.waitForFunction((least) => {
      const told = /(\d+):(\d\d)/.exec(document.querySelector(".recorder button")?.textContent ?? "");
      return told && Number(told[1]) * 60 + Number(told[2]) >= least;
    }, Math.ceil(seconds));
    equal(await page.locator(".recorder .trouble").count(), 0, "the browser left the sound alone, and nothing was clipped");
    await page.getByRole("button", { name: /Stop and keep/ }).click();
    await page.waitForURL(/takes\/[a-z0-9]{16}$/);
    await page.locator(".state", { hasText: /^(heard|refused)/ }).waitFor();
    if (await page.locator(".state", { hasText: /^heard/ }).count()) heard = page.url().split("/").pop();
    else console.log(`recorded again: ${await page.locator(".state").first().innerText()}`);
  }
  check(heard, "the take is heard");

  // Its measures beside what is expected.
  await page.locator(".wave-site").first().waitFor();
  const report = await page.evaluate(async (id) => (await fetch(`/api/takes/${id}/report`)).json(), heard);
  equal(await page.locator(".leaf tbody tr").count(), report.sites.length, "every place measured is told");
  check(report.sites.length >= 3, `places are measured: ${report.sites.length}`);
  const measured = report.sites.filter((one) => one.measured_counts !== null).length;
  check(measured >= 1, "in counts, beside what is expected");
  equal(await page.locator(".leaf tbody td:nth-child(3)").filter({ hasText: "not measured" }).count(), report.sites.length - measured, "and where it was not measured, that is said");
  const vtt = await download(page.getByRole("link", { name: "VTT" }));
  check(vtt.bytes.toString().startsWith("WEBVTT") && vtt.bytes.includes(`${sura}:1:1`), "words with their times");
  equal((await download(page.getByRole("link", { name: "PDF" }))).bytes.subarray(0, 5).toString(), "%PDF-", "the report on paper");

  // A film of it: begun, cancelled; the take stays as it is.
  await page.getByRole("button", { name: "Make the film" }).click();
  await page.locator(".work li").first().getByRole("button", { name: "Cancel" }).click();
  await page.locator('.work li[data-state="cancelled"]').waitFor();

  // The take into the lesson; handout and captions made and fetched.
  await screen("Lessons");
  await page.getByRole("link", { name: "The echo on Tuesday" }).click();
  await page.getByLabel("Add a take").selectOption({ label: "Evening class" });
  await page.locator(".takes-used > li").waitFor();
  await page.locator('.save-state[data-state="saved"]').waitFor();
  const want = async (...wanted) => {
    for (const part of ["handout", "slides", "cards", "questions", "captions", "practice sound", "film", "passage that teaches the ear a voice", "all in one zip"])
      await page.getByRole("checkbox", { name: part, exact: true }).setChecked(wanted.includes(part));
    await page.getByRole("button", { name: "Make it" }).click();
  };
  await want("handout", "captions");
  const made = page.locator('.work li[data-state="done"]').first();
  await made.waitFor();
  const handout = await download(made.locator(".files a", { hasText: "handout.pdf" }));
  equal(handout.bytes.subarray(0, 5).toString(), "%PDF-", "the handout");
  const paper = path.join(room, "handout.pdf");
  writeFileSync(paper, handout.bytes);
  const printed = execFileSync("pdftotext", [paper, "-"]).toString();
  check(printed.replace(/\s+/g, " ").includes("The echo on Tuesday"), `the handout has the lesson's title: ${printed.slice(0, 300)}`);
  const captions = await download(made.locator(".files a", { hasText: ".vtt" }));
  check(captions.bytes.toString().startsWith("WEBVTT") && captions.bytes.includes("<b>"), "captions in which the word being said stands out");
  equal(await page.locator(".work .trouble").count(), 0, "nothing is missing");

  // Killed in the middle of the film; started again on the same port with the same folder. The page is
  // told by itself, and the work is done at the second go.
  await want("film", "all in one zip");
  await page.locator('.work li[data-state="running"] progress').waitFor();
  const working = (await page.evaluate(async () => (await (await fetch("/api/jobs?state=running")).json()).jobs))[0];
  await stop(desk, "SIGKILL");
  desk = await start(data, [`--port=${new URL(origin).port}`]);
  await page.waitForFunction(() => document.querySelectorAll('.work li[data-state="done"]').length === 2, null, { timeout: 120000 });
  const again = await page.evaluate(async (id) => (await fetch(`/api/jobs/${id}`)).json(), working.id);
  equal([again.state, again.reason, again.attempts], ["done", null, 2], "the work is done at the second go");
  const film = await download(page.locator(".work .files a", { hasText: ".mp4" }));
  equal(film.bytes.subarray(4, 8).toString(), "ftyp", "the film");
  writeFileSync(path.join(room, "film.mp4"), film.bytes);
  const streams = execFileSync("ffprobe", ["-v", "error", "-show_entries", "stream=codec_type", "-of", "csv=p=0", path.join(room, "film.mp4")]).toString();
  check(/video/.test(streams) && /audio/.test(streams), "has picture and sound");

  // Nothing is lost.
  await page.reload();
  await page.locator(".takes-used > li").waitFor();
  await page.waitForFunction(() => document.querySelectorAll('.work li[data-state="done"]').length === 2);
  equal(await page.getByLabel("Title in English").inputValue(), "The echo on Tuesday", "the lesson and what was made of it");
  equal(page.url().split("/").pop(), lesson, "under its address");
  await screen("Takes");
  await page.locator(".take-list li", { hasText: "Evening class" }).first().waitFor();
  await page.goto(`${origin}/takes/${heard}`);
  await page.locator(".wave-site").first().waitFor();
  await page.locator(".state", { hasText: /^heard/ }).waitFor();
  await page.waitForFunction(() => document.querySelector("audio").duration > 5);
  equal(complaints, [], "the browser has nothing to complain of");
} catch (error) {
  check(false, `${error.stack}\n${page.url()}\n${(await page.locator("main").innerText().catch(() => "")).slice(0, 1500)}\n${desk.err.slice(-800)}`);
} finally {
  await browser.close();
  await stop(desk).catch(() => {});
}
finish("web-evening");
