// A lesson for the evening class, from the draft to the printed page: everything a teacher changes is
// a line of the file, saved by itself, undone step by step, and never lost. What the desk says of a
// line stands beside its field.
import { ask, check, equal, finish } from "../server/desk.mjs";
import { look, visit } from "./visit.mjs";

const here = await visit();
const { desk, origin, page, complaints } = here;
let id = "";
const text = async () => (await ask(desk, "GET", `/api/lessons/${id}`)).json.text;
// What the desk has, once it is as wanted.
async function kept(holds, what) {
  for (let tries = 0; tries < 200; tries++) {
    const now = await text();
    if (holds(now)) return now;
    await new Promise((wake) => setTimeout(wake, 50));
  }
  check(false, `${what}; the desk has:\n${await text()}`);
  return text();
}
const saved = () => page.waitForSelector('.save-state[data-state="saved"]');
const rows = (all, name) => (all.split(`[${name}]\n`)[1] ?? "").split("\n\n")[0].split("\n").filter(Boolean);

try {
  // The draft.
  await page.getByRole("link", { name: "Lessons", exact: true }).click();
  await page.getByLabel("Where").fill("78");
  await page.getByRole("button", { name: "Write a draft" }).click();
  await page.waitForURL(/lessons\/[a-z0-9]{16}$/);
  id = page.url().split("/").pop();
  await page.waitForSelector(".sheet-page img");
  await page.waitForSelector(".examples .mark");
  const first = await text();
  equal(await page.locator(".examples > li").count(), rows(first, "examples").length, "every example is a row");
  equal(await page.locator(".examples .mark").evaluateAll((all) => [...new Set(all.map((one) => one.dataset.rule))]), ["ikhfa"],
    "an example is marked with what the lesson teaches and nothing else");

  // Fields are lines; a step back brings the line back.
  const title = page.getByLabel("Title in English");
  await title.fill("Hiding, first evening");
  await kept((now) => /^title: Hiding, first evening$/m.test(now), "the title is saved by itself");
  await saved();
  await page.keyboard.press("Control+z");
  equal(await kept((now) => now === first, "undone"), first, "a step back gives the file as it was, byte for byte");
  await page.getByRole("button", { name: "Redo" }).click();
  await kept((now) => now.includes("first evening"), "and forward again");

  // The order of examples: by button, by key, by dragging.
  const examples = rows(first, "examples");
  await page.locator(".examples > li").nth(0).getByRole("button", { name: /^Move down/ }).click();
  await kept((now) => rows(now, "examples")[1] === examples[0], "an example moves down");
  await page.locator(".examples > li").nth(1).getByLabel("Note").focus();
  await page.keyboard.press("Alt+ArrowUp");
  await kept((now) => rows(now, "examples")[0] === examples[0], "and up with the keyboard");
  await page.locator(".examples > li").nth(0).locator(".grip").dragTo(page.locator(".examples > li").nth(2));
  equal(rows(await kept((now) => rows(now, "examples")[2] === examples[0], "dragged to the third place"), "examples").sort(),
    [...examples].sort(), "and none is lost");
  await page.locator(".examples > li").nth(2).getByRole("button", { name: /^Remove/ }).click();
  await kept((now) => rows(now, "examples").length === examples.length - 1, "an example goes");
  await page.getByLabel("Add an example").fill("an-Naba 40");
  await page.getByLabel("Add an example").press("Enter");
  await kept((now) => rows(now, "examples").at(-1) === "78:40", "another comes, as a teacher would write it");

  // What does not hold is told beside its field, with its line.
  const last = page.locator(".examples > li").last();
  await last.getByLabel("Words or verses").fill("78:99");
  await last.locator(".trouble").waitFor();
  await kept((now) => now.split("\n").includes("78:99"), "what does not hold is kept all the same");
  const number = (await text()).split("\n").findIndex((line) => line === "78:99") + 1;
  check((await last.locator(".trouble").innerText()).includes(`Line ${number}`), "the trouble names its line");
  await last.getByLabel("Words or verses").fill("");
  await kept((now) => /^\|$/m.test(now), "an emptied field keeps its row");
  equal(await page.locator(".examples > li").count(), examples.length, "and the row does not vanish under the hand");
  await last.getByLabel("Words or verses").fill("78:40");
  await last.locator(".trouble").waitFor({ state: "detached" });

  await last.getByLabel("Words or verses").fill("juz 30");
  await last.getByText("these are 564 verses").waitFor(); // kept, but not to be shown
  await last.getByLabel("Words or verses").fill("78:40");
  await last.locator(".troubles").waitFor({ state: "detached" });

  // What the whole lesson lacks is told on the page without the file's own words for it.
  const arabic = page.getByLabel("In Arabic", { exact: true });
  await arabic.fill("");
  const lacks = page.getByText("the lesson has no explanation in Arabic");
  await lacks.waitFor();
  check(!(await lacks.innerText()).includes("["), "on the page, as a page says it");
  await page.getByRole("button", { name: "As text" }).click();
  await page.getByText("write it under [explain ar]").waitFor();
  await page.getByRole("button", { name: "As a page" }).click();
  await arabic.fill("تُخفى النون.");
  await lacks.waitFor({ state: "detached" });

  // The fade, line by line, beside the server's page.
  const picture = () => page.locator(".sheet-page img").first().getAttribute("src");
  await page.waitForSelector('.sheet-page[aria-busy="false"]');
  const evenly = await picture();
  await page.getByLabel("How the marks fade").selectOption("lines");
  await page.waitForSelector(".fade-lines li");
  await page.locator(".fade-lines input").first().fill("4");
  const faded = await kept((now) => /^fade: 4(,[0-4])+$/m.test(now), "the first line shows nothing");
  const lines = /^fade: (.*)$/m.exec(faded)[1].split(",").length;
  equal(await page.locator(".fade-lines li").count(), lines, "as many steps as the page has lines");
  equal(await page.locator(".fade-lines li").first().innerText().then((all) => all.includes("nothing")), true, "said in words");
  await page.waitForFunction((was) => document.querySelector(".sheet-page img").src !== was, evenly);
  await page.waitForSelector('.sheet-page[aria-busy="false"]');

  // A stop set on the passage.
  await page.getByText("Set stops").click();
  await page.locator(".passage-part .gap").first().waitFor();
  await page.locator(".passage-part .gap").nth(1).click();
  await kept((now) => /^stops: \d+:\d+:\d+/m.test(now), "a stop set by hand is a word of the file");

  // Explanation and questions.
  await page.getByLabel("In English", { exact: true }).fill("The tongue waits.\n\n# no remark");
  await kept((now) => now.includes("[explain]\nThe tongue waits.\n\n\\# no remark\n"), "what would be a remark is marked as words");
  await page.getByLabel("Add a question").selectOption("mark");
  const asked = rows(await kept((now) => rows(now, "questions").length > rows(first, "questions").length, "a question more"), "questions");
  check(/^mark: .* \| count 1 \| seed 1$/.test(asked.at(-1)), "the question as the file has it");
  await page.locator(".questions > li").last().getByRole("button", { name: "Other questions" }).click();
  await kept((now) => /seed 2$/.test(rows(now, "questions").at(-1)), "another seed");

  // As text: remarks stay through edits on the page.
  await page.getByRole("button", { name: "As text" }).click();
  const area = page.getByLabel("The lesson’s file");
  await area.fill((await area.inputValue()).replace("[examples]\n", "[examples]\n# from the last juz\n") + "\nnonsense\n");
  await page.locator(".as-text .trouble").waitFor();
  await page.locator(".as-text .trouble button").click();
  equal(await area.evaluate((box) => box.value.slice(box.selectionStart, box.selectionEnd)), "nonsense", "a trouble leads to its line");
  await area.fill((await area.inputValue()).replace("\nnonsense\n", ""));
  await page.getByRole("button", { name: "As a page" }).click();
  await page.locator(".examples > li").nth(0).getByRole("button", { name: /^Move down/ }).click();
  await kept((now) => now.includes("# from the last juz") && !now.includes("nonsense"), "a remark stays where it is");
  await saved();

  // Changed elsewhere meanwhile: nothing is overwritten unasked.
  const other = (await ask(desk, "GET", `/api/lessons/${id}`)).json;
  await ask(desk, "PUT", `/api/lessons/${id}`, { body: { text: other.text.replace("title ar: ", "title ar: درس: "), revision: other.revision } });
  await title.fill("Mine");
  await page.getByRole("alert").getByText("changed elsewhere").waitFor();
  check(!(await text()).includes("title: Mine"), "the other's text stands until the teacher decides");
  await page.getByRole("button", { name: "Keep what stands here" }).click();
  await kept((now) => now.includes("title: Mine"), "then hers is kept");
  await saved();

  // The desk is away for a while: what is typed then survives the page.
  await page.route("**/api/lessons/*", (route) => route.request().method() === "PUT" ? route.abort() : route.continue());
  await title.fill("Written on the train");
  await page.getByText("kept in this browser").waitFor();
  await page.reload();
  await page.waitForSelector(".sheet-page img");
  await page.waitForFunction(() => [...document.querySelectorAll("input")].some((one) => one.value === "Written on the train")); // it is there again
  await page.unroute("**/api/lessons/*");
  await page.getByLabel("Title in English").fill("Hiding at home");
  await kept((now) => now.includes("title: Hiding at home"), "and saved when the desk is back");
  await saved();

  // A question that fails once says so, and is asked again; only what is not there is gone.
  const busy = (route) => route.fulfill({ status: 503, json: { error: { code: "busy", message: "the desk has more to do than fits; try again", message_ar: "" } } });
  await page.route(`**/api/lessons/${id}`, busy);
  await page.reload();
  await page.getByRole("alert").getByText("more to do than fits").waitFor();
  equal(await page.getByText("not here any more").count(), 0, "a desk that is busy has not lost the lesson");
  await page.unroute(`**/api/lessons/${id}`, busy);
  await page.getByRole("button", { name: "Try again" }).click();
  await page.waitForSelector(".examples > li");

  // Deleted elsewhere while it is edited: said once, nothing sent any more, and what was written becomes another lesson.
  const whole = await text(), ours = id;
  const doomed = (await ask(desk, "POST", "/api/lessons", { body: { text: whole } })).json.id;
  let sent = 0;
  page.on("request", (request) => { if (request.method() === "PUT" && request.url().endsWith(doomed)) sent++; });
  await page.goto(`${origin}/lessons/${doomed}`);
  await page.waitForSelector(".examples > li");
  equal((await ask(desk, "DELETE", `/api/lessons/${doomed}`)).status, 204, "deleted elsewhere");
  await title.fill("Written too late");
  await page.getByRole("alert").getByText("deleted elsewhere").waitFor();
  equal(await page.getByText("cannot be reached").count(), 0, "the desk is there");
  await title.fill("Written later still");
  await page.reload();
  await page.getByRole("alert").getByText("deleted elsewhere").waitFor();
  equal(await title.inputValue(), "Written later still", "what was written is found again");
  await page.getByRole("button", { name: "Save it as a new lesson" }).click();
  await page.waitForURL((at) => /lessons\/[a-z0-9]{16}$/.test(at.pathname) && !at.pathname.endsWith(doomed));
  id = page.url().split("/").pop();
  equal(await text(), whole.replace(/^title: .*$/m, "title: Written later still"), "all of it is in the new lesson");
  equal(sent, 1, "what is gone is told nothing more");
  equal((await ask(desk, "DELETE", `/api/lessons/${id}`)).status, 204, "and goes again");
  await page.goto(`${origin}/lessons/${doomed}`);
  await page.getByText("This lesson is not here any more.").waitFor();
  id = ours;
  await page.goto(`${origin}/lessons/${id}`);
  await page.waitForSelector(".sheet-page img");

  // What is made of it.
  for (const part of ["slides", "questions"]) await page.getByRole("checkbox", { name: part, exact: true }).uncheck();
  check(await page.getByRole("checkbox", { name: "film" }).isDisabled(), "no film without a take");
  await page.getByRole("button", { name: "Make it" }).click();
  await page.waitForSelector('.work li[data-state="done"]', { timeout: 120000 });
  const names = await page.locator(".work .files a").allInnerTexts();
  check(names.some((name) => name.endsWith("handout.pdf")) && names.some((name) => name.endsWith(".zip")), `made: ${names}`);
  const [fetched] = await Promise.all([page.waitForEvent("download"), page.locator(".work .files a", { hasText: ".zip" }).click()]);
  check(/lesson\.zip$/.test(fetched.suggestedFilename()), "all in one to download");

  // Cancelled, and again.
  await page.getByRole("checkbox", { name: "slides", exact: true }).check();
  await page.getByRole("button", { name: "Make it" }).click();
  await page.locator(".work li").nth(1).waitFor();
  await page.locator(".work li").first().getByRole("button", { name: "Cancel" }).click();
  await page.waitForFunction(() => ["cancelled", "done"].includes(document.querySelector(".work li").dataset.state));

  // The list.
  await page.getByRole("link", { name: "All lessons" }).click();
  await page.getByRole("button", { name: /^Duplicate/ }).click();
  await page.getByText("Hiding at home (copy)").waitFor();
  await page.getByRole("button", { name: "Rename: Hiding at home (copy)" }).click();
  await page.getByRole("textbox", { name: "Rename" }).fill("Second evening");
  await page.keyboard.press("Enter");
  await page.getByRole("link", { name: "Second evening" }).waitFor();
  page.once("dialog", (dialog) => void dialog.accept());
  await page.getByRole("button", { name: "Remove: Second evening" }).click();
  await page.getByRole("link", { name: "Second evening" }).waitFor({ state: "detached" });
  equal(await page.locator(".lesson-list > li").count(), 1, "the copy is gone, the lesson is not");
  const [tab] = await Promise.all([page.context().waitForEvent("page"), page.getByRole("link", { name: "Hiding at home" }).click({ modifiers: ["Control"] })]);
  await tab.getByLabel("Title in English").waitFor();
  equal([new URL(tab.url()).pathname, new URL(page.url()).pathname], [`/lessons/${id}`, "/lessons"], "a link opens a tab of its own");
  await tab.close();

  // In full in one language and theme, a short pass in the other.
  const one = [`/lessons/${id}`, [".sheet-page img", ".examples .mark"]];
  await look(here, "/lessons", ".lesson-list li", "en", "light");
  await look(here, ...one, "en", "light");
  await look(here, ...one, "ar", "dark");
  await look(here, "/lessons", ".lesson-list li", "ar", "dark");
  await look(here, "/lessons", ".lesson-list li", "ar", "light", async () => {
    await page.locator(".lesson-list .moves button").first().click();
    await page.waitForSelector(".renaming input");
  });
  await look(here, ...one, "en", "dark", async () => {
    for (let closed = page.locator("main details:not([open]) > summary"); await closed.count();) await closed.first().click();
    await page.waitForSelector(".pages img");
  });
  await look(here, ...one, "ar", "light", async () => {
    await page.locator(".choice button[aria-pressed=false]").first().click();
    await page.waitForSelector(".file-text");
  });
  equal(complaints.filter((one) => !/ERR_FAILED/.test(one)), [], "the browser has nothing to complain of");
} catch (error) {
  check(false, error.stack);
} finally {
  await here.leave();
}
finish("web-lesson");
