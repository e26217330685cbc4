// crash.mjs – the desk stopped and killed in the middle of things: what was promised is done
// afterwards, what was answered is still there.
import { existsSync, mkdirSync, writeFileSync } from "node:fs";
import path from "node:path";
import { ask, check, equal, finish, folder, jobEnd, opened, stop } from "./desk.mjs";
import { buzz } from "./buzz.mjs";

const data = folder();
let desk = await opened(data);
const reading = (await ask(desk, "GET", "/api/reading?passage=78:1-40")).json;
const sound = buzz(reading);
const pause = (ms) => new Promise((wake) => setTimeout(wake, ms));

async function atWork(id) {
  for (let n = 0; n < 300; n++) {
    const job = (await ask(desk, "GET", `/api/jobs/${id}`)).json;
    if (job.state === "running" && job.progress > 0) return job;
    if (job.state !== "waiting" && job.state !== "running") throw new Error(`ended too soon: ${JSON.stringify(job)}`);
    await pause(30);
  }
  throw new Error("it does not begin");
}
async function reopened() {
  const { cookie, token } = desk;
  desk = await opened(data);
  const old = await ask({ ...desk, cookie, token }, "GET", "/api/session");
  equal(old.json.signed_in, true, "the session outlives the desk");
}

// A lesson killed while it is made: made again, whole, whatever the first go left behind.
const echo = (await ask(desk, "POST", "/api/lessons", { body: { text: "mistara lesson 1\ntitle: Echo\nrules: qalqala\n"
  + "[examples]\n112:1\n[passage]\nrange: 112\n[questions]\nmark: 112\n" } })).json;
const make = ["handout", "slides", "cards", "questions", "zip"];
const whole = await jobEnd(desk, (await ask(desk, "POST", `/api/lessons/${echo.id}/build`, { body: { make } })).json.id);
equal(whole.state, "done", "the lesson is made");
const making = (await ask(desk, "POST", `/api/lessons/${echo.id}/build`, { body: { make } })).json;
await atWork(making.id);
await stop(desk, "SIGKILL");
const left = path.join(data, "work", making.id, "lesson", "slides"); // as if killed after the folder got its name
mkdirSync(left, { recursive: true });
writeFileSync(path.join(left, "old.png"), "half");
await reopened();
const remade = await jobEnd(desk, making.id);
equal([remade.state, remade.reason, remade.attempts], ["done", null, 2], "the lesson is made at the second go");
equal(remade.files.map((one) => one.name), whole.files.map((one) => one.name), "and all of it");
check(!existsSync(path.join(data, "work", making.id, "lesson")), "nothing of the first go is left");
equal((await ask(desk, "GET", `/api/jobs/${whole.id}/files/lesson.zip`)).status, 200, "what was made before is there");

// Cancelled: nothing half-made is kept.
const dropped = (await ask(desk, "POST", `/api/lessons/${echo.id}/build`, { body: { make } })).json;
await atWork(dropped.id);
await ask(desk, "POST", `/api/jobs/${dropped.id}/cancel`, { body: {} });
equal((await jobEnd(desk, dropped.id)).state, "cancelled", "the lesson is not made");
check(!existsSync(path.join(data, "work", dropped.id)), "a cancelled build leaves nothing");

// Asked to stop: at once, and the work waits.
const take = (await ask(desk, "POST", "/api/takes?name=a&passage=78:1-40&listen=1", { body: sound })).json;
await atWork(take.job);
const began = Date.now();
equal((await stop(desk)).code, 0, "it ends in good order");
check(Date.now() - began < 8000, `stopping takes ${Date.now() - began} ms`);
await reopened();
const after = await jobEnd(desk, take.job);
equal([after.state, after.attempts], ["done", 1], "the job is done after the stop, as if never begun before");
equal((await ask(desk, "GET", `/api/takes/${take.id}`)).json.state, "heard", "and the take is heard");

// Killed: begun again.
const second = (await ask(desk, "POST", `/api/takes/${take.id}/listen`, { body: {} })).json;
const lesson = (await ask(desk, "POST", "/api/lessons", { body: { text: "# kept\n" } })).json;
await atWork(second.id);
await stop(desk, "SIGKILL");
await reopened();
const again = await jobEnd(desk, second.id);
equal([again.state, again.attempts], ["done", 2], "the job is done after the kill, at the second go");
equal((await ask(desk, "GET", `/api/lessons/${lesson.id}`)).json.text, "# kept\n", "the lesson is there");

// Killed three times: it is not tried for ever, and the take says why.
const third = (await ask(desk, "POST", `/api/takes/${take.id}/listen`, { body: {} })).json;
for (let n = 1; n <= 3; n++) {
  equal((await atWork(third.id)).attempts, n, "the attempt");
  await stop(desk, "SIGKILL");
  await reopened();
}
const given = (await ask(desk, "GET", `/api/jobs/${third.id}`)).json;
equal(given.state, "failed", "after three times it has failed");
check(given.reason.includes("three times"), given.reason);
const marked = (await ask(desk, "GET", `/api/takes/${take.id}`)).json;
equal([marked.state, marked.job, marked.report], ["refused", null, true], "the take is free again, its report kept");

// Killed at moments of chance while uploads and changes are under way: what was answered is there.
const acknowledged = [];
for (let round = 0; round < 5; round++) {
  let alive = true;
  const work = Array.from({ length: 4 }, async (_, n) => {
    while (alive) {
      try {
        if (n < 2) {
          const body = Buffer.concat([sound.subarray(0, 60000), Buffer.from(`${round} ${n} ${Math.random()}`)]);
          const answer = await ask(desk, "POST", "/api/takes?passage=78:1-40", { body });
          if (answer.status === 201) acknowledged.push(["takes", answer.json.id, body]);
        } else {
          const answer = await ask(desk, "POST", "/api/hearings", { body: { at: "78:1:1", what: "short" } });
          if (answer.status === 201) acknowledged.push(["hearings", answer.json.id]);
        }
      } catch {
        return;
      }
    }
  });
  await pause(200 + 150 * round);
  await stop(desk, "SIGKILL");
  alive = false;
  await Promise.all(work);
  await reopened();
}
check(acknowledged.length > 20, `only ${acknowledged.length} answers to look at`);
const hearings = (await ask(desk, "GET", "/api/hearings")).json.hearings.map((h) => h.id);
for (const [kind, id, body] of acknowledged) {
  if (kind === "hearings") check(hearings.includes(id) || hearings.length === 1000, `hearing ${id} is lost`);
  else check((await ask(desk, "GET", `/api/takes/${id}/audio`)).raw.equals(body), `take ${id} is lost or changed`);
}
await stop(desk);
finish("crash");
