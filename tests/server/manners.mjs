// manners.mjs – what a desk owes those who watch it: streams that begin again where they were, that
// end with their session; one answer to what is asked twice at once; patience with an end; a log of
// lines that name nobody.
import http from "node:http";
import net from "node:net";
import { readdirSync } from "node:fs";
import path from "node:path";
import { ask, bursts, check, equal, finish, folder, jobEnd, signIn, start, stop } from "./desk.mjs";

const data = folder();
let desk = await start(data, ["--patience=3"]);
const until = async (holds, what) => {
  for (let tries = 0; tries < 600; tries++) {
    if (await holds()) return;
    await new Promise((wake) => setTimeout(wake, 50));
  }
  check(false, `waited in vain: ${what}`);
};

/* --- asked twice at once ---------------------------------------------------------------- */
const count = (answers, status) => answers.filter((one) => one.status === status).length;
const many = (ask_one, times = 4) => Promise.all(Array.from({ length: times }, (_, n) => ask_one(n)));
{ // The link lets one in, however many follow it at once.
  const entered = await many(() => ask(desk, "POST", "/api/session", { body: { link: desk.link } }));
  equal([count(entered, 201), count(entered, 401)], [1, 3], "one link, one session");
  const in_one = entered.find((one) => one.status === 201);
  desk.cookie = in_one.headers["set-cookie"][0].split(";")[0];
  desk.token = in_one.json.token;
}
const sound = bursts(3);
const sent = await many((n) => ask(desk, "POST", `/api/takes?name=Learner%20${n}&passage=112`, { body: sound }));
equal(count(sent, 201), 4, "the same sound four times at once is four takes");
equal(readdirSync(path.join(data, "sound"), { recursive: true, withFileTypes: true }).filter((one) => one.isFile()).length, 1, "and one file");
const take = sent[0].json.id;
const promised = await many(() => ask(desk, "POST", `/api/takes/${take}/listen`, { body: {} }));
equal([count(promised, 202), count(promised, 409)], [1, 3], "a take is listened to once at a time");
const job = promised.find((one) => one.status === 202).json.id;
await jobEnd(desk, job);
equal((await ask(desk, "GET", `/api/jobs?about=${take}`)).json.jobs.filter((one) => one.state !== "cancelled").length, 1, "and one job is left of it");
const lesson = (await ask(desk, "POST", "/api/lessons", { body: { text: "# one\n" } })).json;
const saved = await many((n) => ask(desk, "PUT", `/api/lessons/${lesson.id}`, { body: { text: `# ${n}\n`, revision: 1 } }));
equal([count(saved, 200), count(saved, 409)], [1, 3], "of four who save at once one does, the others are told");
equal((await ask(desk, "GET", `/api/lessons/${lesson.id}`)).json.text, saved.find((one) => one.status === 200).json.text, "and that one's text stands");
const left = await many(() => ask(desk, "DELETE", `/api/takes/${sent[1].json.id}`));
equal([count(left, 204), count(left, 404)], [1, 3], "a take is deleted once");
equal((await ask(desk, "GET", `/api/takes/${take}/audio`)).raw.equals(sound), true, "the sound of the others stays");
equal(count(await many(() => ask(desk, "POST", `/api/jobs/${job}/cancel`, { body: {} })), 202), 4, "cancelling what has ended, often, changes nothing");
equal((await ask(desk, "GET", `/api/jobs/${job}`)).json.state, "failed", "it stays as it ended");

/* --- streams ------------------------------------------------------------------------------ */
function listens(cookie = desk.cookie) {
  const told = { events: [], ended: false, status: 0 };
  const request = http.get({ host: desk.host, port: desk.port, path: "/api/events", headers: { cookie }, agent: new http.Agent() }, (answer) => {
    told.status = answer.statusCode;
    let text = "";
    answer.on("data", (part) => {
      text += part;
      for (let end; (end = text.indexOf("\n\n")) >= 0; text = text.slice(end + 2)) {
        const event = /event: (\w+)\ndata: (.*)/.exec(text.slice(0, end));
        if (event) told.events.push([event[1], JSON.parse(event[2])]);
      }
    });
    answer.on("error", () => {});
    answer.on("close", () => (told.ended = true));
  });
  request.on("error", () => (told.ended = true));
  told.close = () => request.destroy();
  return told;
}
// A lesson that takes a while to make: the line breaks in the middle, the next hello tells of it.
const echo = (await ask(desk, "POST", "/api/lessons", { body: { text: "mistara lesson 1\ntitle: Echo\nrules: qalqala\n[examples]\n112:1\n[passage]\nrange: 112\n[questions]\nmark: 112\n" } })).json;
const build = () => ask(desk, "POST", `/api/lessons/${echo.id}/build`, { body: { make: ["handout", "slides", "cards", "questions", "zip"] } });
const first = listens();
await until(() => first.events.length > 0, "hello");
equal(first.events[0], ["hello", { jobs: [] }], "nothing is under way");
const making = (await build()).json.id;
await until(() => first.events.some(([name, one]) => name === "job" && one.id === making && one.state === "running"), "its progress");
first.close();
const second = listens();
await until(() => second.events.length > 0, "hello again");
check(second.events[0][0] === "hello" && second.events[0][1].jobs.some((one) => one.id === making && ["waiting", "running"].includes(one.state))
  || (await jobEnd(desk, making)).state === "done", "after a broken line the first word tells of the work under way");
await until(async () => second.events.some(([, one]) => one.id === making && one.state === "done"), "told of its end");
second.close();
// Killed meanwhile: the same, from the desk that was started again.
const killed = (await build()).json.id;
const third = listens();
await until(() => third.events.some(([name, one]) => name === "job" && one.id === killed && one.state === "running")
  || third.events.some(([name, one]) => name === "hello" && one.jobs.some((it) => it.id === killed && it.state === "running")), "at work");
const before = desk;
await stop(desk, "SIGKILL");
await until(() => third.ended, "the line ends with the desk");
desk = Object.assign(await start(data, ["--patience=3"]), { cookie: before.cookie, token: before.token });
const fourth = listens();
await until(() => fourth.events.length > 0, "hello of the next desk");
check(fourth.events[0][1].jobs.some((one) => one.id === killed) || (await jobEnd(desk, killed)).state === "done", "it tells of the work that goes on");
const again = await jobEnd(desk, killed, 120);
equal([again.state, again.attempts], ["done", 2], "which is done at the second go");
fourth.close();
// At most twelve a session; a place that is given up can be taken.
async function place() {
  let one = null;
  await until(async () => {
    one = listens();
    await until(() => one.status, "an answer");
    return one.status === 200;
  }, "a place");
  return one;
}
const twelve = [];
while (twelve.length < 12) twelve.push(await place());
const more = await ask(desk, "GET", "/api/events");
equal([more.status, Number(more.headers["retry-after"]) > 0], [429, true], "the thirteenth is told to wait");
twelve.pop().close();
const next = await place();
// A stream ends with its session: signed out, nothing more is told.
const guest = await signIn(await start(folder()));
const guests = listens.call(null, guest.cookie); // another desk's session is none here
await until(() => guests.status, "an answer");
equal(guests.status, 401, "no stream without a session of this desk");
await stop(guest);
equal((await ask(desk, "DELETE", "/api/session")).status, 204, "signed out");
await until(() => [...twelve, next].every((one) => one.ended), "every stream of the session ends with it");

/* --- slow ------------------------------------------------------------------------------------ */
// A body that drips: below what any network does, it is cut off, and nothing of it is kept.
{
  const plain = await start(folder(), ["--patience=2"]);
  await signIn(plain);
  const socket = net.connect(plain.port, plain.host);
  let text = "", closed = false;
  socket.on("data", (part) => (text += part));
  socket.on("error", () => {});
  socket.on("close", () => (closed = true));
  socket.write(`POST /api/takes?passage=112 HTTP/1.1\r\nHost: localhost\r\nCookie: ${plain.cookie}\r\nX-Mistara-Token: ${plain.token}\r\nContent-Length: 1000000\r\n\r\n`);
  const drip = setInterval(() => { if (!closed) socket.write("x"); }, 100);
  await until(() => closed, "a body that drips is cut off");
  clearInterval(drip);
  check(!/ 20\d /.test(text), `and not taken: ${text.slice(0, 60)}`);
  await until(() => readdirSync(path.join(plain.data, "incoming")).length === 0, "nothing of it stays");
  equal((await ask(plain, "GET", "/api/takes")).json.takes, [], "no take came of it");
  // One who asks and never reads holds nobody up.
  const idle = Array.from({ length: 8 }, () => {
    const one = net.connect(plain.port, plain.host);
    one.on("error", () => {});
    one.pause();
    one.write(`GET /api/reading?passage=2:1-100 HTTP/1.1\r\nHost: localhost\r\nCookie: ${plain.cookie}\r\n\r\n`.repeat(4));
    return one;
  });
  equal((await ask(plain, "GET", "/api/verses?passage=112")).status, 200, "others are answered meanwhile");
  idle.forEach((one) => one.destroy());
  const { code } = await stop(plain);
  equal(code, 0, "it ends in good order all the same");
}

/* --- the log ----------------------------------------------------------------------------------- */
{
  const told = await start(folder(), ["--behind-proxy=127.0.0.1"]).catch((error) => error);
  check(told instanceof Error, "behind a proxy a passphrase is needed");
  const log = await signIn(await start(folder()));
  const secret = ["Yusuf", "203.0.113.77", "67:13", "secretword", "Learner Seven", "library of the old town"];
  await ask(log, "GET", "/api/search?q=secretword", { headers: { "x-forwarded-for": "203.0.113.77", "user-agent": "Yusuf" } });
  await ask(log, "GET", "/api/reading?passage=67:13-15");
  const one = (await ask(log, "POST", "/api/takes?name=Learner%20Seven&passage=67:13&listen=1", { body: bursts(2) })).json;
  await jobEnd(log, one.job);
  await ask(log, "POST", "/api/hearings", { body: { at: "67:13:1", what: "short", who: "Learner Seven", note: "library of the old town" } });
  await ask(log, "PUT", "/api/passphrase", { body: { passphrase: "three plain words" } });
  await ask(log, "GET", "/api/takes/%00%ff");
  await ask(log, "GET", `/api/takes/${one.id}/peaks?columns=9999999`);
  await stop(log);
  const lines = log.err.trim().split("\n").filter((line) => !line.startsWith("The desk is open.")).map((line) => {
    try { return JSON.parse(line); } catch { check(false, `a line of the log is no JSON: ${line}`); return {}; }
  });
  check(lines.length > 8, `lines: ${lines.length}`);
  for (const line of lines) {
    const wanted = line.event === "request" ? ["time", "event", "method", "route", "status", "ms"] : ["time", "event", "what"];
    equal(Object.keys(line), wanted, `a line of the log: ${JSON.stringify(line)}`);
    check(/^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ$/.test(line.time), "with its time");
    if (line.event === "request") check(line.route === "page" || /^\/(api\/[a-z0-9./*-]+|healthz)$/.test(line.route), `a route by its pattern: ${line.route}`);
  }
  for (const word of [...secret, one.id, log.token, log.cookie.split("=")[1], log.link, "plain words", "127.0.0.1"])
    check(!log.err.includes(word), `the log names ${word}`);
}
const { code } = await stop(desk);
equal(code, 0, "it ends in good order");
finish("manners");
