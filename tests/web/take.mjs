// What a take's page and the recorder promise beyond the first evening: a sound too loud is said, a
// browser that changes it all the same is said, and one without a microphone; how a take was read and
// with whose voice it is heard is chosen there; it is played slower, not lower; one page is one line.
import { execFileSync } from "node:child_process";
import { existsSync } from "node:fs";
import path from "node:path";
import { chromium } from "playwright-core";
import { ask, check, equal, finish, folder, start, stop } from "../server/desk.mjs";
import { buzz } from "../server/buzz.mjs";

const browser_path = process.env.CHROMIUM ?? "/usr/bin/chromium";
if (!existsSync(browser_path)) {
  console.log(`skipped: there is no Chromium at ${browser_path}`);
  process.exit(77);
}
const loud = path.join(folder(), "loud.wav");
execFileSync("ffmpeg", ["-v", "error", "-f", "lavfi", "-i", "sine=frequency=300:duration=20:sample_rate=48000", "-af", "volume=40dB", "-c:a", "pcm_s16le", loud]);
const desk = await start(folder(), ["--quiet"]);
const origin = `http://127.0.0.1:${desk.port}`;
const browser = await chromium.launch({
  executablePath: browser_path,
  args: ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream", `--use-file-for-fake-audio-capture=${loud}`],
});
const context = await browser.newContext({ viewport: { width: 1440, height: 950 }, locale: "en-GB" });
const page = await context.newPage();
page.setDefaultTimeout(60000);
const complaints = [];
page.on("console", (message) => { if (message.type() === "error" && !/^Failed to load resource/.test(message.text())) complaints.push(message.text()); });
page.on("pageerror", (error) => complaints.push(error.message));
const lines = new Set(); // of events, open now
page.on("request", (request) => { if (request.url().endsWith("/api/events")) lines.add(request); });
for (const end of ["requestfailed", "requestfinished"]) page.on(end, (request) => lines.delete(request));
const record = page.getByRole("button", { name: "Record", exact: true });

try {
  await page.goto(`${origin}/#enter=${desk.link}`);
  await page.locator(".mark").first().waitFor();
  desk.cookie = (await context.cookies()).map((one) => `${one.name}=${one.value}`).join("; ");
  desk.token = (await ask(desk, "GET", "/api/session")).json.token;

  // Too loud.
  await page.goto(`${origin}/takes`);
  await record.click();
  await page.getByText("the sound was clipped").waitFor();
  await page.waitForFunction(() => Number.parseFloat(document.querySelector(".level i")?.style.inlineSize) > 90); // the level is at its end
  equal(await page.getByText("The browser changes the sound").count(), 0, "this browser does as it is told");

  // A browser that goes on taking noise away: named, in its own words.
  const stubborn = async (script) => {
    const other = await context.newPage();
    other.setDefaultTimeout(60000);
    await other.addInitScript(script);
    await other.goto(`${origin}/takes`);
    await other.getByRole("button", { name: "Record", exact: true }).click();
    return other;
  };
  const refuses = await stubborn(() => {
    const settings = MediaStreamTrack.prototype.getSettings;
    MediaStreamTrack.prototype.getSettings = function () {
      const { autoGainControl: _, ...rest } = settings.call(this);
      return { ...rest, echoCancellation: false, noiseSuppression: true };
    };
  });
  const said = refuses.getByText("The browser changes the sound all the same");
  await said.waitFor();
  check(/noiseSuppression, autoGainControl$/.test((await said.innerText()).trim()), `what it does, and what it does not tell of: ${await said.innerText()}`);
  await refuses.close();
  const reasons = { NotAllowedError: "Allow it beside the address of this page", NotFoundError: "Connect one, then record again",
    NotReadableError: "another program may be using it", OddError: "The microphone cannot be used." };
  const none = await stubborn(() => { navigator.mediaDevices.getUserMedia = () => Promise.reject(new DOMException("no", window.reason ?? "NotAllowedError")); });
  for (const [reason, advice] of Object.entries(reasons)) {
    await none.evaluate((name) => { window.reason = name; }, reason);
    await none.getByRole("button", { name: "Record", exact: true }).click(); // it can be tried again
    await none.getByRole("alert").getByText(advice).waitFor();
  }
  await none.close();

  // A take to work on, sent as a file.
  const reading = (await ask(desk, "GET", "/api/reading?passage=78:1-16")).json;
  await page.goto(`${origin}/takes`);
  await page.getByLabel("The passage").fill("78:1-16");
  await page.getByLabel("Name", { exact: true }).fill("Long");
  await page.locator("input[type=file]").setInputFiles({ name: "evening.wav", mimeType: "audio/wav", buffer: buzz(reading) });
  await page.waitForURL(/takes\/[a-z0-9]{16}$/);
  const id = page.url().split("/").pop();
  await page.locator(".state", { hasText: /^heard/ }).waitFor();
  await page.locator(".wave-site").first().waitFor();
  await page.waitForFunction(() => document.querySelector(".voice select") && document.querySelector(".make button"));
  // One line of events for all that is shown; that of the last page is closed a moment after it.
  for (let turn = 0; turn < 200 && lines.size !== 1; turn++) await page.evaluate(() => new Promise((go) => requestAnimationFrame(() => requestAnimationFrame(go))));
  equal(lines.size, 1, "one line of events for all that is shown");

  // Slower, not lower.
  await page.getByLabel("Speed").selectOption("0.5");
  await page.waitForFunction(() => document.querySelector("audio").playbackRate === 0.5);
  equal(await page.evaluate(() => document.querySelector("audio").preservesPitch), true, "the pitch is kept");

  // Its voice is learned, and a short take is heard with it.
  await page.getByLabel("Name of the voice").fill("teacher");
  await page.getByRole("button", { name: "Learn the voice from this take" }).click();
  await page.getByText("The voice is kept as").waitFor();
  const short = (await ask(desk, "POST", "/api/takes?name=Short&passage=78:2-3", { body: buzz((await ask(desk, "GET", "/api/reading?passage=78:2-3")).json, { seed: 3 }) })).json;
  await page.goto(`${origin}/takes/${short.id}`);
  await page.locator(".voice option", { hasText: "teacher" }).waitFor({ state: "attached" });
  await page.locator(".voice select").selectOption("teacher");
  const as_it_is = page.getByRole("checkbox", { name: "as it is, nothing learned from this take" });
  await as_it_is.click(); // checked when the desk has it
  await page.waitForFunction(() => document.querySelector(".voice input[type=checkbox]")?.checked);
  await page.getByRole("button", { name: "Listen again" }).click();
  await page.locator(".state", { hasText: /^heard/ }).waitFor();
  const heard = (await ask(desk, "GET", `/api/takes/${short.id}`)).json;
  equal([heard.state, heard.voice, heard.keep_voice], ["heard", "teacher", true], "heard with the voice that was chosen");

  // Read another way: kept and heard anew in one go.
  await page.getByText("How it was read").click();
  await page.getByLabel("before a stop", { exact: true }).selectOption("6");
  await page.getByRole("button", { name: "Keep, and listen again" }).click();
  // Changed and promised are two questions: what the desk says in the end is waited for.
  let read;
  for (let n = 0; n < 2000; n++) {
    read = (await ask(desk, "GET", `/api/takes/${short.id}`)).json;
    if (read.how.arid === 6 && ["heard", "refused"].includes(read.state)) break;
    await new Promise((wake) => setTimeout(wake, 100));
  }
  equal([read.how, read.state], [{ arid: 6 }, "heard"], "kept, and heard anew");
  const anew = (await ask(desk, "GET", `/api/takes/${short.id}/report`)).json;
  check(anew.sites.some((one) => one.rule === "madd_arid" && one.expected_counts === 6), `six counts are expected before the stop now: ${JSON.stringify(anew.sites.map((one) => [one.rule, one.expected_counts]))}`);
  await page.locator(".state", { hasText: /^heard/ }).waitFor();

  // A voice that is gone is said where it is named.
  equal((await ask(desk, "DELETE", "/api/voices/teacher")).status, 204, "the voice is forgotten");
  await page.locator(".voice option", { hasText: "not kept here" }).waitFor({ state: "attached" });

  // Its film is made and fetched.
  await page.goto(`${origin}/takes/${id}`);
  await page.locator(".wave-site").first().waitFor();
  await page.getByRole("checkbox", { name: "dark ground" }).check();
  await page.getByRole("button", { name: "Make the film" }).click();
  await page.locator('.make .work li[data-state="running"] progress').waitFor();
  check(await page.getByRole("button", { name: "Make the film" }).isDisabled(), "one at a time");
  await page.locator(".make .work").getByRole("button", { name: "Cancel" }).click();
  await page.locator('.make .work li[data-state="cancelled"]').waitFor();
  equal(complaints, [], "the browser has nothing to complain of");
} catch (error) {
  check(false, `${error.stack}\n${page.url()}\n${(await page.locator("main").innerText().catch(() => "")).slice(0, 1200)}`);
} finally {
  await browser.close();
  await stop(desk).catch(() => {});
}
finish("web-take");
