// A class in the browser: the teacher begins it, takes people in, gives something out; a learner comes
// in with the link of a card, agrees, records, marks, hands in over a line that breaks, with the tab
// closed and the desk stopped in the middle. Chromium's false microphone beeps: nothing is recited.
import { stat } from "node:fs/promises";
import { ask, check, equal, finish, start, stop } from "../server/desk.mjs";
import { look, visit } from "./visit.mjs";

const here = await visit({ flags: ["--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream"] });
const { origin, page, complaints, browser } = here;
let { desk } = here;
const get = async (url) => (await ask(desk, "GET", url)).json;
async function until(holds, what) {
  for (let tries = 0; tries < 300; tries++) {
    const found = await holds();
    if (found) return found;
    await new Promise((wake) => setTimeout(wake, 50));
  }
  check(false, what);
  return null;
}
let wanted = null;
page.on("dialog", (dialog) => { if (wanted) wanted(dialog); else void dialog.accept(); });
// What is asked when something is done, answered so.
const answered = async (doing, yes) => {
  const asked = new Promise((done) => { wanted = (dialog) => { wanted = null; done(dialog.message()); void (yes ? dialog.accept() : dialog.dismiss()); }; });
  await doing();
  return asked;
};
// What the learner keeps on their device.
const kept = (of) => of.evaluate(() => new Promise((done, fail) => {
  const opened = indexedDB.open("mistara-mine");
  opened.onerror = () => fail(opened.error);
  opened.onsuccess = () => {
    const names = ["works", "pieces", "sounds"], tx = opened.result.transaction(names), asked = names.map((name) => tx.objectStore(name).getAll());
    tx.oncomplete = () => { done(asked.map((one) => one.result.length)); opened.result.close(); };
  };
}));

try {
  // The class.
  await page.getByRole("link", { name: "Class", exact: true }).click();
  await page.getByLabel("Name of the class").fill("   ");
  await page.getByRole("button", { name: "Begin the class" }).click();
  await page.getByRole("alert").getByText("Give the class a name.").waitFor();
  await page.getByLabel("Name of the class").fill(" Evening class, town library ");
  await page.getByRole("button", { name: "Begin the class" }).click();
  await page.locator(".tabs").waitFor();
  const [evening] = (await get("/api/classes")).classes;
  equal(evening.name, "Evening class, town library", "the class is in the book");
  // At the address of one that is gone, the others.
  await page.goto(`${origin}/class/0000000000000000`);
  await page.getByText("not here any more").waitFor();
  await page.getByRole("main").getByRole("link", { name: evening.name }).click();
  await page.getByRole("link", { name: "About the class" }).click();
  await page.getByLabel("Recordings are deleted after, days").fill("30");
  await page.getByRole("button", { name: "Keep" }).click();
  const terms = await until(async () => { const now = await get(`/api/classes/${evening.id}`); return now.retention_days === 30 && now; }, "the days are kept");
  check(/30 days/.test(terms.consent), "and the usual words of consent follow them");

  // Its people.
  await page.getByRole("link", { name: "People", exact: true }).click();
  for (const label of ["Learner 1", "Learner 2"]) {
    await page.getByLabel("Label").fill(label);
    await page.getByRole("button", { name: "Add", exact: true }).click();
    await page.locator(".person").filter({ hasText: label }).waitFor();
  }
  await page.locator(".person", { hasText: "not given" }).nth(1).waitFor(); // nobody has agreed yet
  const [sheet] = await Promise.all([page.waitForEvent("download"), page.getByRole("button", { name: "Cards for all" }).click()]);
  equal(sheet.suggestedFilename(), "cards.pdf", "cards for all of them");
  await page.getByRole("button", { name: "Make a new code: Learner 1" }).click();
  await page.locator(".code-shown .code").waitFor();
  const link = await page.locator(".code-link").innerText();
  check(link.startsWith(`${origin}/mine#join=`), `the link of a card: ${link}`);
  // A card ends the code that is shown: it asks first, and says that this address leads nowhere else.
  const asked = await answered(() => page.getByRole("button", { name: "Card to print: Learner 1" }).click(), false);
  check(/stops holding/.test(asked) && /on this machine alone/.test(asked), `what a card does is said first: ${asked}`);
  equal(await page.locator(".code-link").innerText(), link, "and when it is not wanted the code holds");
  const [card] = await Promise.all([page.waitForEvent("download"), page.getByRole("button", { name: "Card to print: Learner 2" }).click()]);
  equal(card.suggestedFilename(), "card.pdf", "a card of one");
  await page.getByRole("button", { name: "Consent on paper: Learner 2" }).click();
  await page.locator(".person").filter({ hasText: "given on paper" }).waitFor();
  await page.getByRole("button", { name: "Change: Learner 2" }).click();
  await page.locator(".person").getByLabel("Note").fill("sings in a choir");
  await page.locator(".person").getByRole("button", { name: "Keep" }).click();
  await page.getByText("sings in a choir").waitFor();

  // Something given out.
  await page.getByRole("link", { name: "Given out" }).click();
  await page.getByLabel("Title").fill("Hiding, first evening");
  await page.getByLabel("Passage").fill("al-Mulk 3-4");
  await page.getByLabel("Until").fill("2030-12-03");
  await page.getByLabel("What to attend to").fill("Two counts, through the nose.");
  await page.getByLabel("Rules it is about").selectOption("ikhfa");
  await page.getByRole("button", { name: "Give out" }).click();
  await page.locator(".given li").filter({ hasText: "Hiding, first evening" }).waitFor();
  const [given] = (await get(`/api/classes/${evening.id}/assignments`)).assignments;
  equal([given.passage, given.rules, given.stage, given.attend], ["67:3-4", "ikhfa", 0, "Two counts, through the nose."], "what is given out");

  // The learner comes in.
  const phone = await browser.newContext({ viewport: { width: 360, height: 740 }, locale: "en-GB", hasTouch: true });
  const opens = async (at) => {
    const made = await phone.newPage();
    made.setDefaultTimeout(30000);
    made.on("console", (message) => { if (message.type() === "error" && !/^Failed to load resource/.test(message.text())) complaints.push(message.text()); });
    made.on("pageerror", (error) => complaints.push(error.message));
    made.on("dialog", (dialog) => void dialog.accept());
    await made.goto(at);
    return made;
  };
  let learner = await opens(link);
  await learner.getByRole("button", { name: "Come in" }).waitFor();
  equal(await learner.evaluate(() => location.hash), "", "the code does not stay in the address");
  await learner.getByRole("button", { name: "Come in" }).click();
  await learner.getByRole("button", { name: "I agree", exact: true }).waitFor();
  check((await learner.locator(".consent-words").innerText()).includes("30 days"), "what is agreed to is shown first");
  check(await learner.locator(".given").count() === 0, "and nothing before it");
  await learner.getByRole("button", { name: "I agree", exact: true }).click();
  await learner.getByRole("link", { name: "Hiding, first evening" }).click();
  await learner.locator(".assignment .mark").first().waitFor();
  equal(await learner.locator(".assignment .mark").evaluateAll((all) => [...new Set(all.map((one) => one.dataset.rule))]), ["ikhfa"], "the marks of what it is about");
  await learner.locator(".legend", { hasText: "hiding" }).waitFor(); // with their names
  const words = await learner.evaluate(async () => (await (await fetch("/api/reading?passage=67:3-4")).json()).words.map((word) => word.display).join(" "));
  equal(await learner.locator("section.leaf .word").allInnerTexts().then((all) => all.join(" ")), words, "the words are the desk's, unaltered");

  // A verse is being recorded when the tab is closed.
  await learner.getByRole("button", { name: "Verse by verse" }).click();
  await learner.locator(".part").nth(0).getByRole("button", { name: "Record", exact: true }).click();
  await learner.getByRole("button", { name: /Stop and keep 0:0[2-9]/ }).waitFor();
  await learner.close();
  learner = await opens(`${origin}/mine/${given.id}`);
  await learner.getByText("recorded until the page was closed").waitFor();
  await learner.waitForFunction(() => document.querySelector(".part audio")?.duration > 0.5);
  const record = async (n, name) => {
    await learner.locator(".part").nth(n).getByRole("button", { name, exact: true }).click();
    await learner.locator(".part").nth(n).getByRole("button", { name: /Stop and keep 0:0[2-9]/ }).click();
    await learner.locator(".part").nth(n).getByRole("button", { name: "Record again" }).waitFor();
  };
  check(await learner.getByRole("button", { name: "Hand in" }).isDisabled(), "a verse is missing");
  await record(0, "Record again");
  await record(1, "Record");

  // By now the page and its passage are kept for when there is no line.
  await learner.waitForFunction(async () => {
    const known = (await (await caches.open("mistara-mine")).keys()).map((one) => new URL(one.url).pathname);
    return ["/mine", "/api/rules", "/api/reading"].every((one) => known.includes(one)) && known.some((one) => one.endsWith(".js"));
  });

  // One tap on a letter or a word.
  await learner.locator(".to-mark .word").nth(3).focus();
  await learner.keyboard.press("Enter");
  await learner.getByRole("button", { name: "wrong", exact: true }).click();
  await learner.locator(".to-mark svg.marks").first().waitFor(); // in its own face, where it will stay
  const box = await learner.locator('.to-mark [data-at="67:4:2"]').boundingBox();
  await learner.touchscreen.tap(box.x + box.width - 4, box.y + box.height / 2);
  await learner.locator(".marked li").nth(1).waitFor();

  // The line breaks in the middle; the tab is closed; the desk is stopped and started again.
  let puts = 0;
  await learner.route("**/api/mine/uploads/*?offset=*", async (route) => {
    if (++puts === 2) await phone.setOffline(true);
    await (puts < 2 ? route.continue() : route.abort("internetdisconnected"));
  });
  await learner.getByRole("button", { name: "Hand in" }).click();
  await learner.getByText("not sent yet: waits for the line").waitFor();
  equal(await kept(learner), [1, 0, 1], "it is kept on the device, as one");
  equal((await get(`/api/classes/${evening.id}/assignments`)).assignments[0].handed_in, 0, "and not with the teacher");
  await learner.close();
  await stop(desk, "SIGKILL");
  // With nobody there the page opens all the same, with the passage, and more could be recorded.
  await phone.setOffline(false);
  learner = await opens(`${origin}/mine`);
  await learner.getByText("not sent yet: waits for the line").waitFor();
  await learner.getByRole("link", { name: "Hiding, first evening" }).click();
  await learner.locator("section.leaf .word").first().waitFor();
  equal(await learner.locator("section.leaf .word").allInnerTexts().then((all) => all.join(" ")), words, "the words are there without the desk");
  await learner.close();
  const again = await start(desk.data, [`--port=${desk.port}`]);
  Object.assign(again, { cookie: desk.cookie, token: desk.token });
  here.desk = desk = again;
  const parts = [];
  phone.on("request", (request) => { if (request.method() === "PUT") parts.push(Number(new URL(request.url()).searchParams.get("offset"))); });
  await phone.setOffline(true);
  learner = await opens(`${origin}/mine`);
  await learner.getByText("The desk cannot be reached").waitFor();
  await phone.setOffline(false);
  await learner.getByText("with your teacher").waitFor();
  await learner.getByText("The desk cannot be reached").waitFor({ state: "detached" });
  check(parts.length > 0 && parts[0] > 0, `it goes on where it was: ${parts}`);
  equal(await kept(learner), [0, 0, 0], "nothing is left on the device once the desk has it");
  const mine = await learner.evaluate(async () => (await fetch("/api/mine")).json());
  equal(mine.assignments[0].submissions.length, 1, "handed in once");
  const sent = await learner.evaluate(async (id) => (await fetch(`/api/mine/submissions/${id}`)).json(), mine.assignments[0].submissions[0].id);
  equal(sent.marks.map((one) => [one.at.split(":").length > 3 ? "letter" : one.at, one.mark]), [["67:3:4", "unsure"], ["letter", "wrong"]], "with its marks");
  const sound = await learner.evaluate(async (id) => {
    const bytes = await (await fetch(`/api/mine/submissions/${id}/audio`)).arrayBuffer();
    return (await new OfflineAudioContext(1, 1, 24000).decodeAudioData(bytes)).duration;
  }, sent.id);
  check(sound > 4 && sound < 20, `both verses are in it: ${sound} s`);
  await learner.getByRole("link", { name: "Handed in" }).first().click();
  await learner.getByText("has not answered yet").waitFor();

  // The learner's pages in both languages.
  const phoneLook = { page: learner, origin };
  for (const [lang, theme] of [["en", "light"], ["ar", "dark"]]) {
    await look(phoneLook, "/mine", ".given li", lang, theme);
    await look(phoneLook, `/mine/${given.id}`, [".assignment .mark", ".part button"], lang, theme);
    await look(phoneLook, `/mine/pinch/${given.id}`, ".pinch .part button", lang, theme);
    await look(phoneLook, `/mine/sent/${sent.id}`, ".answer h2", lang, theme);
  }
  // A learner has their own page and no other.
  await learner.goto(`${origin}/class`);
  await learner.locator(".mine").waitFor();
  equal(await learner.locator("header nav").count(), 0, "no way to the teacher's pages");

  // Over two suras a verse is named with its own.
  const both = (await ask(desk, "POST", `/api/classes/${evening.id}/assignments`, { body: { passage: "113:5-114:1", title: "Over the seam", due_ms: Date.now() - 40 * 86400000 } })).json;
  await look(phoneLook, "/mine", ".given li", "en", "light");
  await learner.setViewportSize({ width: 360, height: 740 });
  equal(await learner.locator(".given h3").allInnerTexts(), ["Over the seam", "Hiding, first evening"], "what is with the teacher comes after what is to be done");
  const said = await learner.locator(".given li").first().locator("p.faint").innerText();
  check(/was for/.test(said), `a day that is over: ${said}`);
  await learner.goto(`${origin}/mine/${both.id}`);
  await learner.locator(".part").nth(1).waitFor();
  equal((await learner.locator(".assignment > p.faint").first().innerText()).split(" · ")[1], said.split(" · ")[1], "told alike in both places");
  await record(0, "Record");
  const missed = await learner.locator("section[aria-labelledby=send] .note").first().innerText();
  check(/verse an-nas 1$/i.test(missed), `the verse that is missing: ${missed}`);

  // Signing out without a line: it says that nothing came of it.
  await phone.setOffline(true);
  const dialogs = [];
  const told = new Promise((done) => learner.on("dialog", (one) => { if (dialogs.push(one.message()) === 2) done(); }));
  await learner.getByRole("button", { name: "Sign out" }).click();
  await told;
  check(/new code from your teacher/.test(dialogs[0]) && /still signed in/.test(dialogs[1]), `what is asked and said: ${dialogs.join(" | ")}`);
  await phone.setOffline(false);

  // The teacher's pages, also with a label that is one long word.
  await ask(desk, "POST", `/api/classes/${evening.id}/people`, { body: { label: "Q".repeat(60), role: "learner" } });
  await page.reload();
  for (const [lang, theme] of [["en", "light"], ["ar", "dark"]]) {
    await look(here, `/class/${evening.id}/people`, ".person", lang, theme);
    await look(here, `/class/${evening.id}/assignments`, ".given li", lang, theme);
    await look(here, `/class/${evening.id}/about_class`, ".about", lang, theme);
  }

  // Gone for good, with a receipt; and out.
  await look(here, `/class/${evening.id}/people`, ".person", "en", "light");
  await page.getByRole("button", { name: "Delete: Learner 1" }).click();
  await page.locator(".receipt[role=status]").waitFor();
  await page.waitForFunction(() => document.activeElement?.matches(".receipt"));
  equal((await get("/api/receipts")).receipts.length, 1, "a receipt");

  // The book carried away: a file the browser keeps, and a line that goes when it was destroyed.
  await page.getByText("Backups of the book").click();
  const [file] = await Promise.all([page.waitForEvent("download"), page.getByRole("button", { name: "Carry the book away" }).click()]);
  const carried = (await get("/api/backups")).backups;
  equal([file.suggestedFilename(), (await stat(await file.path())).size], [carried[0].name, carried[0].bytes], "the file, under the name that receipts say");
  await page.getByRole("button", { name: `I have destroyed it: ${carried[0].name}` }).click();
  await page.locator(".backups li").waitFor({ state: "detached" });
  equal((await get("/api/backups")).backups, [], "forgotten");
  await learner.goto(`${origin}/mine`);
  await learner.locator("input.code").waitFor();
  equal(complaints, [], "the browsers have nothing to complain of");
} catch (error) {
  check(false, error.stack);
  for (const context of browser.contexts()) for (const one of context.pages()) console.error(one.url(), (await one.locator("body").innerText().catch(() => "")).slice(0, 600));
} finally {
  await browser.close();
  await stop(desk);
}
finish("web-class");
