// Coming in and going out: who leaves is told how to come back, sets a passphrase for it, and whoever
// else has a page open there leaves with them. A card opened by the teacher need not be used.
import { ask, check, equal, finish } from "../server/desk.mjs";
import { look, visit } from "./visit.mjs";

const here = await visit();
const { desk, origin, page, complaints } = here;
const phrase = "lamp river seven";

try {
  // Another page of the same browser, which listens to what the desk tells.
  const other = await page.context().newPage();
  await other.goto(`${origin}/lessons`);
  await other.getByText("No lesson yet.").waitFor();

  // Not out yet: first it is said how one comes back.
  await page.goto(`${origin}/text/67:1`);
  await page.getByRole("button", { name: "Sign out" }).click();
  await page.getByText("it prints a new link").waitFor();
  check((await ask(desk, "GET", "/api/session")).json.signed_in, "asking how does not sign out");

  const set = async (fresh, again = fresh, current = null) => {
    if (current !== null) await page.getByLabel("The passphrase as it is").fill(current);
    await page.getByLabel("New passphrase").fill(fresh);
    await page.getByLabel("The same once more").fill(again);
    await page.getByRole("button", { name: current === null ? "Set the passphrase" : "Change the passphrase" }).click();
  };
  await set(phrase, "lamp river six");
  await page.getByRole("alert").getByText("not the same").waitFor();
  await set("short");
  await page.getByRole("alert").getByText("at least 10 characters").waitFor();
  equal((await ask(desk, "GET", "/api/session")).json.passphrase, false, "neither was set");
  await set(phrase);
  await page.getByRole("status").getByText("holds from now on").waitFor();
  await page.getByText("type the passphrase, or start the desk again").waitFor();
  await set("river lamp seven", "river lamp seven", "another one entirely");
  await page.getByRole("alert").getByText("not the passphrase there is").waitFor();
  await look(here, "/leave", ".leaving form", "en", "light");
  await look(here, "/leave", ".leaving form", "ar", "dark");

  // Out, here and in the other page, which asks no more.
  await page.evaluate(() => localStorage.setItem("lang", "en"));
  await page.goto(`${origin}/leave`);
  await page.getByRole("main").getByRole("button", { name: "Sign out" }).click();
  await page.locator(".door input[type=password]").waitFor();
  equal(new URL(page.url()).pathname, "/text", "who comes back does not come back to the way out");
  await other.getByText("Follow the link").waitFor();
  equal(await other.locator(".lessons").count(), 0, "the other page has ended too");
  await page.getByRole("button", { name: "العربية" }).click();
  await page.getByText("عبارة المرور").waitFor();
  await page.getByRole("button", { name: "English" }).click();
  await page.locator(".door input[type=password]").fill(phrase);
  await page.getByRole("button", { name: "Open the desk" }).click();
  await page.waitForSelector("nav");
  desk.cookie = (await page.context().cookies()).map((one) => `${one.name}=${one.value}`).join("; ");
  desk.token = (await ask(desk, "GET", "/api/session")).json.token;

  // A card: to look at it is not to use it.
  const group = (await ask(desk, "POST", "/api/classes", { body: { name: "Evening", language: "en" } })).json.id;
  const person = (await ask(desk, "POST", `/api/classes/${group}/people`, { body: { label: "Learner 1" } })).json.id;
  const { code } = (await ask(desk, "POST", `/api/people/${person}/code`, { body: {} })).json;
  await page.goto("about:blank");
  await page.goto(`${origin}/mine#join=${code}`);
  await page.getByText("signs out the teacher").waitFor();
  await page.getByRole("link", { name: "Stay as you are" }).click();
  await page.waitForURL(`${origin}/text`);
  await page.getByRole("link", { name: "Lessons", exact: true }).waitFor();
  check((await ask(desk, "GET", "/api/session")).json.signed_in, "who stays is still the teacher");

  // The learner's card holds once: leaving is asked about.
  const phone = await (await here.browser.newContext({ viewport: { width: 400, height: 800 }, locale: "en-GB" })).newPage();
  await phone.goto(`${origin}/mine#join=${code}`);
  await phone.getByRole("button", { name: "Come in" }).click();
  const asked = (answer) => new Promise((done) => phone.once("dialog", (dialog) => { void dialog[answer]().then(() => done(dialog.message())); }));
  const out = phone.getByRole("button", { name: "Sign out" });
  let said = asked("dismiss");
  await out.click();
  check((await said).includes("a new code"), "it is said what is needed to come back");
  await out.waitFor();
  said = asked("accept");
  await out.click();
  await said;
  await phone.getByLabel("Your code").waitFor();
  equal(complaints, [], "the browser has nothing to complain of");
} catch (error) {
  check(false, error.stack);
} finally {
  await here.leave();
}
finish("web-door");
