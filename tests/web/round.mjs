// The round in the browser, against what the ear made of recordings: places ruled on by key, notes
// written and spoken, the answer sent and seen by the learner; a voice note confirmed by Enter; what
// is known of each and of all. The recitations are made of tones, some holds let go early.
import { agrees, handsIn, made, person } from "../server/class.mjs";
import { buzz } from "../server/buzz.mjs";
import { ask, check, equal, finish, jobEnd, stop } from "../server/desk.mjs";
import { look, visit } from "./visit.mjs";

const here = await visit({ flags: ["--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream"] });
const { desk, origin, page, complaints, browser } = here;
const get = async (url, who = desk) => (await ask(who, "GET", url)).json;
async function until(holds, what) {
  for (let tries = 0; tries < 2400; tries++) {
    const found = await holds();
    if (found) return found;
    await new Promise((wake) => setTimeout(wake, 100));
  }
  throw new Error(`waited too long: ${what}`);
}
page.on("dialog", (dialog) => void dialog.accept());

try {
  const passage = "78:1-16";
  const reading = await get(`/api/reading?passage=${passage}`);
  const held = reading.sounds.map((sound, n) => [sound, n]).filter(([sound]) => sound.nasal && sound.counts >= 2).map(([, n]) => n);
  const cut = [held[1], held[4]];
  const short = { ...reading, sounds: reading.sounds.map((sound, n) => (cut.includes(n) ? { ...sound, share: 0.42 } : sound)) };
  const evening = (await made(desk, "/api/classes", { name: "Evening class, town library" })).id;
  const take = (await ask(desk, "POST", `/api/takes?passage=${passage}&name=Model&listen=1`, { body: buzz(reading, { seed: 3 }) })).json;
  equal((await jobEnd(desk, take.job)).state, "done", "the teacher's take is heard");
  const learned = (await ask(desk, "POST", "/api/voices", { body: { name: "teacher", takes: [take.id] } })).json;
  equal((await jobEnd(desk, learned.id)).state, "done", "and the voice learned");
  await ask(desk, "PATCH", `/api/takes/${take.id}`, { body: { voice: "teacher" } });
  const given = (await made(desk, `/api/classes/${evening}/assignments`, { title: "The holds", passage, take: take.id })).id;
  const one = await person(desk, evening, "Learner 1"), two = await person(desk, evening, "Learner 2"), helper = await person(desk, evening, "Assistant", "assistant");
  for (const who of [one, two]) await agrees(who);
  const id = (await handsIn(two, given, buzz(short, { seed: 12 }), [{ at: "78:2:1", mark: "unsure" }])).id;

  // The desk fills by itself.
  await page.goto(`${origin}/listening/${evening}`);
  await page.locator(".queue li").filter({ hasText: "Learner 2" }).waitFor();
  const whole = await until(async () => { const now = await get(`/api/submissions/${id}`); return now.state !== "received" && now.state !== "listening" && now; }, "it is heard");
  equal(whole.state, "heard", `it is heard: ${whole.problem}`);
  await page.locator(".queue li").filter({ hasText: "heard" }).waitFor();
  await page.locator(".queue li a").first().click();
  await page.locator(".site-card .rulers, .site-card .ear-says").first().waitFor();
  equal(await page.locator(".site-list li").count(), whole.sites.length, "every place, as the desk lists them");
  equal(await page.locator(".site-list .noted-word").allInnerTexts(), whole.sites.map((site) => site.word ?? ""), "in its order, worst first");

  // By key, wherever the letters lie on it.
  const site = (n) => get(`/api/submissions/${id}`).then((now) => now.sites[n]);
  const telling = await page.locator(".site-card .ear-says").innerText();
  check(/the ear is|too poor/.test(telling), `how sure the ear is, in words: ${telling}`);
  const clips = [];
  page.on("response", (response) => { if (response.url().includes("/clip.wav")) clips.push([new URL(response.url()).searchParams.get("site"), response.status()]); });
  await page.locator(".site-card").focus();
  await page.keyboard.press("Space");
  await until(() => clips.length > 0, "the place is played");
  check(clips[0][0] === String(whole.sites[0].site) && [200, 206].includes(clips[0][1]), `the place itself: ${clips[0]}`);
  await page.keyboard.press("KeyA");
  await page.getByText(`Place 2 of ${whole.sites.length}`).waitFor();
  await until(async () => (await site(0)).ruling === "agree", "A agrees, and goes on");
  await page.keyboard.press("KeyO");
  await page.getByText(`Place 3 of ${whole.sites.length}`).waitFor();
  await until(async () => (await site(1)).ruling === "overrule", "O overrules, and goes on");
  await page.keyboard.press("ArrowUp");
  await page.locator(".site-card .ruling.overrule").waitFor();
  await page.keyboard.press("KeyU");
  await page.locator(".site-card .ruling:not(.overrule)").waitFor();
  await until(async () => (await site(1)).ruling === "", "U takes it back");
  await page.keyboard.press("KeyK");
  await page.getByText(`Place 1 of ${whole.sites.length}`).waitFor();

  // Two quick keys on a slow line: each ruling at its own place, and the page does not wait.
  let release;
  const held_up = new Promise((go) => { release = go; });
  await page.route(/\/sites\/\d+$/, async (route) => { await held_up; await route.continue(); });
  await page.keyboard.press("KeyJ");
  await page.getByText(`Place 2 of ${whole.sites.length}`).waitFor();
  await page.keyboard.press("KeyA");
  await page.keyboard.press("KeyO");
  await page.getByText(`Place 4 of ${whole.sites.length}`).waitFor();
  release();
  await until(async () => (await site(2)).ruling !== "", "both reach the desk");
  equal([(await site(1)).ruling, (await site(2)).ruling, (await site(3)).ruling], ["agree", "overrule", ""], "in the order of the keys");
  await page.unroute(/\/sites\/\d+$/);

  // A note is on the place that is open; what was begun at one place stays there.
  const written = page.locator(".site-card .noting textarea");
  await page.keyboard.press("KeyN");
  await written.fill("half a th");
  await page.keyboard.press("Escape");
  await page.keyboard.press("KeyJ");
  await page.keyboard.press("KeyN");
  equal(await written.inputValue(), "", "nothing of it at the next place");
  await page.getByLabel("A note for the learner on the whole").check();
  await written.fill("Well recited.");
  await written.press("Enter");
  await page.locator(".one .notes li").filter({ hasText: "Well recited." }).filter({ hasText: "on the whole" }).waitFor();
  equal(await page.evaluate(() => document.activeElement.className), "leaf site-card", "and back at the place");
  await page.keyboard.press("KeyK");
  await page.keyboard.press("KeyN");
  equal([await written.inputValue(), await page.getByLabel("A note for the learner on the whole").isChecked()], ["half a th", false], "it waits where it was begun, and the whole is asked for anew");
  await written.fill("");
  await page.keyboard.press("Escape");
  for (const at of [3, 2, 1]) {
    await page.keyboard.press("KeyK");
    await page.getByText(`Place ${at} of ${whole.sites.length}`).waitFor();
  }

  // A note on the place by text, one by voice, without a mouse.
  await page.keyboard.press("KeyN");
  await page.locator(".noting textarea").fill("Stay on it, through the nose.");
  await page.locator(".noting textarea").press("Enter");
  await page.locator(".one .notes li").filter({ hasText: "Stay on it" }).waitFor();
  await page.keyboard.press("KeyV");
  await page.keyboard.press("Enter");
  await page.locator(".noting").getByRole("button", { name: /Stop and keep 0:01/ }).waitFor();
  await page.keyboard.press("Enter");
  await page.locator(".one .notes audio").waitFor();
  const notes = (await get(`/api/submissions/${id}`)).notes;
  equal(notes.map((note) => [note.at, note.text, note.sound]), [[null, "Well recited.", false], [whole.sites[0].at, "Stay on it, through the nose.", false], [whole.sites[0].at, "", true]], "each where it was put");
  equal(await page.locator(".one .marked li").innerText().then((text) => text.replace(/\s+/g, " ")), `${whole.marks[0].word} unsure Play`, "what the learner marked, in words");
  equal((await get(`/api/mine/submissions/${id}`, two)).notes, [], "and neither has left yet");

  // An assistant listens as well, and does not send.
  const beside = await browser.newContext({ locale: "en-GB" });
  await beside.addCookies([{ name: "mistara", value: helper.cookie.split("=").slice(1).join("="), url: origin }]);
  const assistant = await beside.newPage();
  assistant.setDefaultTimeout(30000);
  await assistant.goto(`${origin}/listening/${evening}/${id}`);
  await assistant.locator(".site-card").waitFor();
  await assistant.getByText("Sending is the teacher’s.").waitFor();
  equal(await assistant.locator("nav[aria-label=Screens] a").allInnerTexts(), ["Text", "Class", "Listening", "Progress"], "an assistant's pages");

  for (const [lang, theme] of [["en", "light"], ["ar", "dark"]]) {
    await look(here, `/listening/${evening}/${id}`, ".site-card .ear-says", lang, theme);
    await look(here, `/listening/${evening}`, ".queue li", lang, theme);
  }
  await look(here, `/listening/${evening}/${id}`, ".site-card", "en", "light");
  await page.locator(".sending").getByRole("button", { name: /Send to the learner/ }).click();
  await page.getByText("Sent on").waitFor();
  const sent_places = (await get(`/api/mine/submissions/${id}`, two)).sites.map((each) => each.site);
  check(sent_places.includes(whole.sites[0].site), "the learner has the place that was agreed with");
  // What is ruled afterwards waits for the next sending.
  await page.locator(".site-card").focus();
  await page.getByText(`Place 1 of ${whole.sites.length}`).waitFor();
  await page.keyboard.press("KeyU");
  await page.getByText("Changed since it was sent.").waitFor();
  equal((await get(`/api/mine/submissions/${id}`, two)).sites.map((each) => each.site), sent_places, "the learner has what was sent");
  await page.keyboard.press("KeyA");
  await page.getByText("Changed since it was sent.").waitFor({ state: "detached" });
  const phone = await browser.newContext({ viewport: { width: 360, height: 740 }, locale: "en-GB" });
  await phone.addCookies([{ name: "mistara", value: two.cookie.split("=").slice(1).join("="), url: origin }]);
  const learner = await phone.newPage();
  learner.setDefaultTimeout(30000);
  learner.on("pageerror", (error) => complaints.push(error.message));
  await learner.goto(`${origin}/mine`);
  await learner.getByRole("link", { name: "See the answer" }).click();
  await learner.getByText("Stay on it, through the nose.").waitFor();
  await learner.locator(".answer .notes audio").waitFor(); // the spoken note
  await learner.locator(".answer h1").filter({ hasText: "The holds" }).waitFor();
  await learner.locator(".answer .notes li").filter({ hasText: whole.sites[0].word }).filter({ hasText: "Stay on it" }).getByRole("button", { name: "Hear the place" }).click();
  await learner.waitForFunction(() => document.querySelector(".answer > audio").currentTime > 0);
  const answer = await get(`/api/mine/submissions/${id}`, two);
  equal(await learner.locator("section[aria-labelledby=places] li").count() + await learner.locator("section[aria-labelledby=well] li").count(), answer.sites.length, "the places the teacher ruled on, no others");

  // What is due next first, what is answered last.
  for (const [title, days] of [["Long ago", -30], ["Next month", 30], ["Next week", 7], ["Any day", 0]])
    await made(desk, `/api/classes/${evening}/assignments`, { title, passage, due_ms: days && Date.now() + days * 86400000 });
  await learner.goto(`${origin}/mine`);
  await learner.locator(".given li").nth(4).waitFor();
  equal(await learner.locator(".given h3").allInnerTexts(), ["Next week", "Next month", "Any day", "Long ago", "The holds"], "in the order in which it wants doing");
  await learner.locator(".going li").first().waitFor();

  // The nose: both recordings reach the ear, and a beep is no recitation; the page says so.
  await learner.goto(`${origin}/mine/pinch/${given}`);
  for (const n of [0, 1]) {
    await learner.locator(".pinch .part").nth(n).getByRole("button", { name: "Record", exact: true }).click();
    await learner.locator(".pinch .part").nth(n).getByRole("button", { name: /Stop and keep 0:0[2-9]/ }).click();
    await learner.locator(".pinch .part").nth(n).locator("audio").waitFor();
  }
  await learner.getByRole("button", { name: "Compare" }).click();
  await learner.locator(".pinch > div[aria-live] .trouble, .pinch .verdict").waitFor();
  check(/\S{3}/.test(await learner.locator(".pinch > div[aria-live] .trouble, .pinch .verdict").innerText()), "an answer in words");

  // The teacher's take, slowed, its words lit, as high as it was.
  await learner.goto(`${origin}/mine/${given}`);
  await learner.locator(".verses button").first().waitFor();
  await learner.getByRole("button", { name: "slow", exact: true }).click();
  await learner.waitForFunction(() => document.querySelector(".teacher audio")?.playbackRate === 0.5);
  equal(await learner.evaluate(() => document.querySelector(".teacher audio").preservesPitch), true, "slowed, the pitch kept");
  await learner.locator(".verses button").nth(1).click();
  await learner.locator('section.leaf .word.sounding[data-at^="78:2:"]').first().waitFor(); // the word that sounds is lit

  // Something given out, the passage as a teacher says it: the take of it is offered, and goes when
  // the passage becomes another.
  await page.goto(`${origin}/class/${evening}/assignments`);
  const own = page.getByLabel("Your recitation");
  await page.getByLabel("Passage").fill("an-Naba 1-16");
  await own.locator("option", { hasText: "Model" }).waitFor({ state: "attached" });
  await own.selectOption({ value: take.id });
  await page.getByLabel("Passage").fill("al-Mulk 3-4");
  await own.locator("option", { hasText: "Model" }).waitFor({ state: "detached" });
  equal(await own.inputValue(), "", "no recitation of other verses");
  await page.getByLabel("Until").fill("2020-01-31");
  await page.getByText("That day is over.").waitFor();

  // A voice note that came another way, of one whose consent is on paper and not yet noted.
  await ask(desk, "DELETE", `/api/people/${one.id}/consent`);
  await page.goto(`${origin}/class/${evening}/voice_notes`);
  await page.locator("input[type=file]").setInputFiles({ name: "note-7.wav", mimeType: "audio/wav", buffer: buzz(reading, { seed: 21 }) });
  const row = page.locator(".imports li").filter({ hasText: "note-7.wav" });
  await row.waitFor();
  await until(async () => (await get(`/api/classes/${evening}/imports`)).imports.some((note) => note.proposal || note.problem), "a proposal");
  await row.getByText(/^.*proposed/).waitFor();
  check(/note-7\.wav [1-9]?\d:\d\d ·/.test(await row.innerText()) && !/ 0:00 /.test(await row.innerText()), `its length: ${await row.innerText()}`);
  await page.locator("input[type=file]").setInputFiles({ name: "list.wav", mimeType: "audio/wav", buffer: Buffer.from("no sound at all\n".repeat(20)) });
  const silent = page.locator(".imports li").filter({ hasText: "list.wav" });
  await silent.getByText("no proposal").waitFor();
  check(/\S{3}/.test(await silent.locator(".trouble").innerText()), "what is no sound says why");
  await silent.getByRole("button", { name: "Throw away" }).click();
  await silent.waitFor({ state: "detached" });
  await look(here, `/class/${evening}/voice_notes`, ".imports li", "en", "light");
  await row.getByLabel("Who").selectOption({ label: "Learner 1" });
  await row.getByLabel("For").selectOption({ label: "The holds" });
  check(await row.getByRole("button", { name: "Confirm" }).isDisabled(), "not before it is agreed to");
  await row.getByRole("button", { name: "Consent on paper" }).click();
  await row.getByText("has not agreed").waitFor({ state: "detached" });
  await row.focus();
  await page.keyboard.press("Enter");
  await page.getByText("Confirmed: Learner 1").waitFor();
  equal((await get(`/api/classes/${evening}/imports`)).imports, [], "nothing waits for a name");
  await until(async () => (await get(`/api/classes/${evening}/desk`)).submissions.some((each) => each.person === one.id && each.state === "heard"), "it is listened to like any other");

  // What is known, also with a label that is one long word.
  await person(desk, evening, "Q".repeat(60));
  await page.goto(`${origin}/progress/${evening}`);
  await page.locator(".multiples .span").first().waitFor();
  for (const [lang, theme] of [["en", "light"], ["ar", "dark"]]) {
    await look(here, `/progress/${evening}`, ".multiples .span", lang, theme);
    await look(here, `/progress/${evening}/${two.id}`, ".rule-cards .strip", lang, theme);
  }
  await look(here, `/progress/${evening}`, ".multiples .span", "en", "light");
  await page.setViewportSize({ width: 360, height: 740 });
  const names = await page.locator(".multiples th[scope=row]").evaluateAll((all) => Math.max(...all.map((one) => one.getBoundingClientRect().width)));
  check(names < 180, `the names leave room for what is told of them: ${names} of 360 px`);
  await look(here, `/progress/${evening}/${two.id}`, ".rule-cards .strip", "en", "light");
  const [table] = await Promise.all([page.waitForEvent("download"), page.getByRole("link", { name: "Table (CSV)" }).click()]);
  equal(table.suggestedFilename(), "progress.csv", "a table");
  const named = await page.locator("a[download]").evaluateAll((all) => all.map((one) => one.getAttribute("download")));
  check(named.length > 0 && named.every((one) => one === ""), `what is downloaded goes by the name it has: ${named}`);
  await page.locator("section[aria-labelledby=drill] p, section[aria-labelledby=drill] li").first().waitFor();
  equal(complaints, [], "the browsers have nothing to complain of");
} catch (error) {
  check(false, error.stack);
  for (const context of browser.contexts()) for (const each of context.pages()) console.error(each.url(), (await each.locator("main").innerText().catch(() => "")).slice(0, 500));
} finally {
  await here.leave();
}
finish("web-round");
