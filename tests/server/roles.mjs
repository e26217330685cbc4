// roles.mjs – every route of the desk × everyone who may stand before it. A route without a row here
// fails the test, and so does a row without a route: what is new is decided on, not let in.
import { execFileSync } from "node:child_process";
import { bursts, check, equal, finish, folder, opened, program, stop } from "./desk.mjs";
import { agrees, begins, handsIn, made, patiently as ask, person } from "./class.mjs";

const desk = await opened(folder(), ["--quiet"]);
const here = (await made(desk, "/api/classes", { name: "Tuesday evening" })).id;
const there = (await made(desk, "/api/classes", { name: "Saturday morning" })).id;
const nobody = { ...desk, cookie: "", token: "" };
const own = await person(desk, here, "Lamp"), other = await person(desk, here, "River");
const assistant = await person(desk, here, "Window", "assistant"), stranger = await person(desk, there, "Door", "assistant");
const outside = await person(desk, there, "Garden");
for (const learner of [own, other, outside]) await agrees(learner);
const take = (await ask(desk, "POST", "/api/takes?name=mine&passage=78:31-40", { body: bursts(2, 5) })).json.id;
const lesson = (await made(desk, "/api/lessons", { text: "# x\n" })).id;
const hearing = (await made(desk, "/api/hearings", { at: "67:1:1", what: "x" })).id;
const assignment = (await made(desk, `/api/classes/${here}/assignments`, { passage: "78:31-40", take })).id;
const submission = (await handsIn(own, assignment)).id;
const upload = await begins(own, assignment, 5000);
const job = (await ask(desk, "POST", "/api/sheets", { body: { passage: "112" } })).json.id;
const none = "0000000000000000";

// Who stands before the door, in the order of a row. `outside` learns in another class.
const people = { nobody, own, other, outside, assistant, stranger, teacher: desk };
/* Rows. What is let in answers as the handler pleases: with bodies no handler takes, 400, so that
 * nothing changes; with an id that is none, 404 by the handler. What is not let in:
 *   401 nobody is signed in · 403 not for this role · 404 not of this class, not one's own */
const T = (status) => [401, 403, 403, 403, 403, 403, status]; // the teacher's alone
const A = (status) => [401, 403, 403, 403, status, 404, status]; // and the class's assistants
const E = (status) => [401, status, status, status, status, status, status]; // everyone signed in
const M = (status) => [401, status, status, status, 403, 403, 403]; // any learner, about themselves
const O = (status) => [401, status, 404, 404, 403, 403, 403]; // the learner whose it is
const C = (status) => [401, status, status, 404, 403, 403, 403]; // the learners of the class
const all = (status) => Array(7).fill(status);
const odd = { body: { nobody_takes_this: 1 } };
const rows = {
  "GET /healthz": [all(200)],
  "GET /api/session": [all(200)],
  "POST /api/session": [all(400), odd],
  "DELETE /api/session": [E(204), { last: true }],
  "PUT /api/passphrase": [T(400), odd],
  "GET /api/suras": [E(200)],
  "GET /api/translations": [E(200)],
  "GET /api/divisions": [E(200), { query: "kind=juz" }],
  "GET /api/passage": [E(200), { query: "q=112" }],
  "GET /api/verses": [E(200), { query: "passage=112" }],
  "GET /api/search": [T(400)],
  "GET /api/rules": [E(200)],
  "GET /api/letters": [E(200)],
  "GET /api/reading": [E(200), { query: "passage=112" }],
  "GET /api/ink": [E(200), { query: "passage=112" }],
  "GET /api/explain": [E(200), { query: "at=112:1:1" }],
  "GET /api/faults": [T(400)],
  "GET /api/sheet.svg": [E(200), { query: "passage=112" }],
  "GET /api/sheet.png": [T(400)],
  "GET /api/sheet.pdf": [T(400)],
  "GET /api/sheet.json": [T(400)],
  "GET /api/sheet.txt": [T(400)],
  "POST /api/sheets": [T(400), odd],
  "GET /api/find/examples": [T(400)],
  "GET /api/find/passages": [T(400)],
  "GET /api/find/cover": [T(400), { query: "family=none" }],
  "GET /api/takes": [T(200)],
  "POST /api/takes": [T(400), { query: "odd=1", body: bursts(0.1) }],
  "GET /api/takes/*": [T(200), { ids: [take] }],
  "PATCH /api/takes/*": [T(400), { ids: [take], ...odd }],
  "DELETE /api/takes/*": [T(404), { ids: [none] }],
  "GET /api/takes/*/audio": [T(200), { ids: [take] }],
  "POST /api/takes/*/listen": [T(400), { ids: [take], ...odd }],
  "POST /api/takes/*/film": [T(400), { ids: [take], ...odd }],
  "GET /api/takes/*/report": [T(404), { ids: [take] }],
  "GET /api/takes/*/report.vtt": [T(404), { ids: [take] }],
  "GET /api/takes/*/report.tsv": [T(404), { ids: [take] }],
  "GET /api/takes/*/report.txt": [T(404), { ids: [take] }],
  "GET /api/takes/*/report.html": [T(404), { ids: [take] }],
  "GET /api/takes/*/report.pdf": [T(404), { ids: [take] }],
  "GET /api/takes/*/peaks": [T(404), { ids: [none] }],
  "GET /api/takes/*/spectrogram.png": [T(404), { ids: [none] }],
  "GET /api/takes/*/uses": [T(200), { ids: [take] }],
  "GET /api/takes/*/pins": [T(200), { ids: [take] }],
  "PUT /api/takes/*/pins": [T(400), { ids: [take], ...odd }],
  "POST /api/comparisons": [T(400), odd],
  "GET /api/voices": [T(200)],
  "POST /api/voices": [T(400), odd],
  "DELETE /api/voices/*": [T(404), { ids: ["nobody"] }],
  "GET /api/lessons": [T(200)],
  "POST /api/lessons": [T(400), odd],
  "POST /api/lessons/check": [T(400), odd],
  "POST /api/lessons/draft": [T(400), odd],
  "GET /api/lessons/*": [T(200), { ids: [lesson] }],
  "PUT /api/lessons/*": [T(400), { ids: [lesson], ...odd }],
  "DELETE /api/lessons/*": [T(404), { ids: [none] }],
  "POST /api/lessons/*/build": [T(400), { ids: [lesson], ...odd }],
  "POST /api/lessons/*/duplicate": [T(404), { ids: [none] }],
  "GET /api/lessons/*/page.svg": [T(404), { ids: [none] }],
  "GET /api/course": [T(200)],
  "PUT /api/course": [T(400), odd],
  "GET /api/course/default": [T(200)],
  "GET /api/course/plan": [T(422)],
  "GET /api/hearings": [T(200)],
  "POST /api/hearings": [T(400), odd],
  "PATCH /api/hearings/*": [T(400), { ids: [hearing], ...odd }],
  "DELETE /api/hearings/*": [T(404), { ids: [none] }],
  "GET /api/settings": [T(200)],
  "PUT /api/settings": [T(400), odd],
  "GET /api/jobs": [T(200)],
  "GET /api/jobs/*": [T(200), { ids: [job] }],
  "DELETE /api/jobs/*": [T(404), { ids: [none] }],
  "POST /api/jobs/*/cancel": [T(400), { ids: [job], ...odd }],
  "GET /api/jobs/*/files/*": [T(404), { ids: [job, "none.pdf"] }],
  "GET /api/events": [E(200), { head: true }],

  "GET /api/classes": [T(200)],
  "POST /api/classes": [T(400), odd],
  "GET /api/classes/*": [A(200), { ids: [here] }],
  "PATCH /api/classes/*": [T(400), { ids: [here], ...odd }],
  "DELETE /api/classes/*": [T(404), { ids: [none] }],
  "GET /api/classes/*/people": [A(200), { ids: [here] }],
  "POST /api/classes/*/people": [T(400), { ids: [here], ...odd }],
  "POST /api/classes/*/cards.pdf": [T(400), { ids: [here], ...odd }],
  "GET /api/people/*": [A(200), { ids: [own.id] }],
  "PATCH /api/people/*": [T(400), { ids: [own.id], ...odd }],
  "DELETE /api/people/*": [T(404), { ids: [none] }],
  "POST /api/people/*/code": [T(400), { ids: [own.id], ...odd }],
  "DELETE /api/people/*/code": [T(204), { ids: [own.id] }],
  "GET /api/people/*/card.pdf": [T(200), { ids: [own.id] }],
  "GET /api/people/*/card.svg": [T(200), { ids: [own.id] }],
  "POST /api/people/*/consent": [T(400), { ids: [own.id], ...odd }],
  "DELETE /api/people/*/consent": [T(404), { ids: [none] }],
  "DELETE /api/people/*/recordings": [T(404), { ids: [none] }],
  "GET /api/classes/*/assignments": [A(200), { ids: [here] }],
  "POST /api/classes/*/assignments": [T(400), { ids: [here], ...odd }],
  "GET /api/assignments/*": [A(200), { ids: [assignment] }],
  "PATCH /api/assignments/*": [T(400), { ids: [assignment], ...odd }],
  "DELETE /api/assignments/*": [T(404), { ids: [none] }],
  "GET /api/receipts": [T(200)],
  "GET /api/backups": [T(200)],
  "POST /api/backups": [T(400), odd],
  "DELETE /api/backups/*": [T(404), { ids: [none] }],

  "GET /api/classes/*/desk": [A(200), { ids: [here] }],
  "GET /api/submissions/*": [A(200), { ids: [submission] }],
  "DELETE /api/submissions/*": [T(404), { ids: [none] }],
  "GET /api/submissions/*/audio": [A(200), { ids: [submission] }],
  "GET /api/submissions/*/clip.wav": [A(400), { ids: [submission] }],
  "PATCH /api/submissions/*/sites/*": [A(400), { ids: [submission, "0"], ...odd }],
  "POST /api/submissions/*/notes": [A(400), { ids: [submission], ...odd }],
  "POST /api/submissions/*/voice-notes": [A(400), { ids: [submission], query: "odd=1", body: bursts(0.1) }],
  "DELETE /api/submissions/*/notes/*": [A(404), { ids: [submission, none] }],
  "GET /api/submissions/*/notes/*/audio": [A(404), { ids: [submission, none] }],
  "POST /api/submissions/*/listen": [T(400), { ids: [submission], ...odd }],
  "POST /api/submissions/*/send": [T(400), { ids: [submission], ...odd }],
  "POST /api/classes/*/imports": [T(400), { ids: [here], query: "odd=1", body: bursts(0.1) }],
  "GET /api/classes/*/imports": [T(200), { ids: [here] }],
  "POST /api/imports/*/confirm": [T(400), { ids: [submission], ...odd }],
  "POST /api/people/*/enrol": [T(400), { ids: [own.id], ...odd }],
  "GET /api/classes/*/progress": [A(200), { ids: [here] }],
  "GET /api/classes/*/progress.csv": [A(200), { ids: [here] }],
  "GET /api/people/*/progress": [A(200), { ids: [own.id] }],
  "GET /api/people/*/progress.csv": [A(200), { ids: [own.id] }],
  "GET /api/classes/*/progress.pdf": [A(404), { ids: [here] }],
  "GET /api/people/*/progress.pdf": [A(404), { ids: [own.id] }],
  "GET /api/people/*/drill": [A(200), { ids: [own.id] }],
  "GET /api/mine/progress": [M(200)],
  "POST /api/mine/pinch": [M(400), odd],
  "GET /api/mine/pinch": [M(404), { query: `job=${none}` }],

  "GET /api/mine": [M(200)],
  "POST /api/mine/consent": [M(400), odd],
  "DELETE /api/mine/consent": [M(200), { last: true }],
  "DELETE /api/mine/recordings": [M(200), { last: true }],
  "GET /api/mine/assignments/*/audio": [C(200), { ids: [assignment] }],
  "GET /api/mine/assignments/*/words": [C(200), { ids: [assignment] }],
  "POST /api/mine/uploads": [M(400), odd],
  "GET /api/mine/uploads/*": [O(200), { ids: [upload] }],
  "PUT /api/mine/uploads/*": [O(400), { ids: [upload], body: Buffer.from("x") }],
  "POST /api/mine/uploads/*/submit": [O(400), { ids: [upload], ...odd }],
  "GET /api/mine/submissions/*": [O(200), { ids: [submission] }],
  "DELETE /api/mine/submissions/*": [O(204), { ids: [submission], last: true }],
  "GET /api/mine/submissions/*/audio": [O(200), { ids: [submission] }],
  "GET /api/mine/submissions/*/notes/*/audio": [O(404), { ids: [submission, none] }],
};

const table = execFileSync(program, ["--routes"]).toString().trim().split("\n").map((line) => line.split(" ").slice(0, 2).join(" "));
for (const route of table) check(route in rows, `${route} has no row: say who may ask it`);
for (const route of Object.keys(rows)) check(table.includes(route), `${route} is no route`);

// Streams do not end by themselves: their head is enough.
async function status(who, method, url, body, head) {
  if (!head) return (await ask(who, method, url, { body })).status;
  const { request } = await import("node:http");
  return new Promise((resolve, reject) => {
    const r = request({ host: who.host, port: who.port, method, path: url, headers: { cookie: who.cookie } }, (answer) => {
      resolve(answer.statusCode);
      answer.on("error", () => {});
      r.destroy();
    });
    r.on("error", reject);
    r.end();
  });
}
async function row(route) {
  const [wanted, { ids = [], query, body, head } = {}] = rows[route];
  const [method, pattern] = route.split(" ");
  let n = 0;
  const url = pattern.replace(/\*/g, () => ids[n++]) + (query ? `?${query}` : "");
  const got = [];
  // Whoever it belongs to asks last: what others may not do is not undone by what they may.
  for (const who of ["nobody", "other", "outside", "assistant", "stranger", "teacher", "own"])
    got[Object.keys(people).indexOf(who)] = await status(people[who], method, url, body, head);
  equal(got, wanted, `${route} for ${Object.keys(people)}`);
}
const last = (route) => rows[route][1]?.last;
for (const route of table.filter((one) => one in rows && !last(one))) await row(route);
// Without the token of the session nobody changes anything.
for (const route of table.filter((one) => one in rows && !one.startsWith("GET ") && one !== "POST /api/session"))
  equal((await ask({ ...own, token: "" }, route.split(" ")[0], route.split(" ")[1].replace(/\*/g, none), { body: route.startsWith("DELETE") ? undefined : {} })).status, 403,
    `${route} without a token`);

/* --- what a learner is told holds nothing of others -------------------------------------------- */
const mine = (await ask(own, "GET", "/api/mine")).text;
for (const word of ["River", "Window", "Door", other.id, assistant.id, there]) check(!mine.includes(word), `/api/mine tells of ${word}`);
check(mine.includes(submission), "… but of one's own");
const classmate = (await ask(other, "GET", "/api/mine")).text;
for (const word of [submission, own.id, "Lamp"]) check(!classmate.includes(word), `another learner's page tells of ${word}`);
const session = (await ask(own, "GET", "/api/session")).json;
equal([session.role, session.person.label, session.class.name], ["learner", "Lamp", "Tuesday evening"], "who is signed in");

/* --- the stream ------------------------------------------------------------------------------ */
const http = await import("node:http");
function listens(who) {
  const heard = { text: "" };
  return new Promise((resolve) => {
    const r = http.request({ host: who.host, port: who.port, path: "/api/events", headers: { cookie: who.cookie } }, (answer) => {
      if (answer.statusCode === 429) return resolve(new Promise((wake) => setTimeout(wake, 250)).then(() => listens(who)));
      answer.on("data", (bytes) => { heard.text += bytes; if (heard.text.includes("hello")) resolve(heard); });
      answer.on("error", () => {});
      answer.on("close", () => (heard.ended = true));
    });
    r.on("error", () => {});
    r.end();
    heard.request = r;
  });
}
async function until(holds, what) {
  for (let n = 0; n < 400 && !holds(); n++) await new Promise((wake) => setTimeout(wake, 25));
  check(holds(), what);
}
const streams = {};
for (const who of Object.keys(people).slice(1)) streams[who] = await listens(people[who]);
check(!streams.own.text.includes(job) && !streams.assistant.text.includes(job), "long work is the teacher's");
const second = (await handsIn(own, assignment)).id;
await until(() => ["own", "assistant", "teacher"].every((who) => streams[who].text.includes(second)), "whom it concerns is told");
// By what comes later we know that it did not come before.
const third = (await handsIn(other, assignment)).id;
await until(() => ["other", "assistant", "teacher"].every((who) => streams[who].text.includes(third)), "… of each");
await made(desk, `/api/classes/${there}/people`, { label: "Candle" });
await until(() => streams.stranger.text.includes("person"), "another class's assistant is told of their own");
for (const who of ["outside", "stranger"]) check(!streams[who].text.includes(second) && !streams[who].text.includes(third), `${who} hears of another class`);
check(!streams.own.text.includes(third) && !streams.other.text.includes(second), "learners hear of one another");
const told = [...streams.own.text.matchAll(/event: (\w+)\ndata: (.*)/g)].map(([, event, data]) => [event, JSON.parse(data)]).slice(1);
check(told.length > 0 && told.every(([event, data]) => event === "submission" && Object.keys(data).join() === "id" && [submission, second].includes(data.id)),
  `a learner is told the ids of their own and nothing else: ${JSON.stringify(told)}`);

/* --- who leaves is out ------------------------------------------------------------------------- */
equal((await ask(desk, "PATCH", `/api/people/${other.id}`, { body: { left: true } })).status, 200, "someone leaves");
await until(() => streams.other.ended, "their stream ends");
equal((await ask(other, "GET", "/api/mine")).status, 401, "and their sign-in");
equal((await ask(desk, "POST", `/api/people/${other.id}/code`, { body: {} })).status, 400, "no card for who has left");
equal((await ask(desk, "PATCH", `/api/people/${assistant.id}`, { body: { role: "learner" } })).status, 200, "an assistant becomes a learner");
equal([(await ask(assistant, "GET", `/api/classes/${here}`)).status, (await ask(assistant, "GET", "/api/mine")).status], [403, 200], "from that moment on");
await ask(desk, "PATCH", `/api/people/${assistant.id}`, { body: { role: "assistant" } });
await ask(desk, "PATCH", `/api/people/${other.id}`, { body: { left: false } });
equal((await ask(other, "GET", "/api/mine")).status, 401, "who comes back comes in with a new card");
people.other = await person(desk, here, "Cloud");
await agrees(people.other);

for (const stream of Object.values(streams)) stream.request.destroy();
// While it is listened to it cannot be taken back.
for (let n = 0; n < 2400 && ["received", "listening"].includes((await ask(own, "GET", `/api/mine/submissions/${submission}`)).json.state); n++)
  await new Promise((wake) => setTimeout(wake, 25));
for (const route of ["DELETE /api/mine/submissions/*", "DELETE /api/mine/recordings", "DELETE /api/mine/consent", "DELETE /api/session"]) await row(route);
const { code } = await stop(desk);
equal(code, 0, "it ends in good order");
finish("roles");
