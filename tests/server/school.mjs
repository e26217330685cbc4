// school.mjs – a school: two desks and four workers at one database. Any of them is killed, and the
// database too; where the machine allows a network of its own (school_net.sh), any of them is cut off
// as well. Every recording whose acceptance a learner was told of is listened to exactly once in
// effect, and none is lost. What counts it is not the desk: a trigger in the database.
//   node school.mjs [SECONDS]     (one round of each; or rounds of chance for so long)
import { execFileSync, spawn } from "node:child_process";
import { existsSync, readdirSync, statSync } from "node:fs";
import path from "node:path";
import { ask, check, equal, finish, folder, program, signIn, source } from "./desk.mjs";
import { agrees, joins, made, part } from "./class.mjs";
import { buzz } from "./buzz.mjs";

const seconds = Number(process.argv[2] ?? 0), LEASE = 6;
const { MISTARA_TEST_DATABASE: database, MISTARA_TEST_BRIDGE: bridge, MISTARA_TEST_SUBNET: subnet } = process.env;
const data = folder();
let state = Number(process.env.SEED ?? 20261126);
const chance = (most) => Math.floor((state = (Math.imul(state, 1664525) + 1013904223) >>> 0) / 2 ** 32 * most);
const sleep = (ms) => new Promise((wake) => setTimeout(wake, ms));
const say = (text) => console.log(`${((performance.now()) / 1000).toFixed(1)} s: ${text}`);
const sh = (...words) => execFileSync(words[0], words.slice(1), { encoding: "utf8" });
function sql(text) {
  for (let n = 0; ; n++) {
    try { return sh("psql", database, "-qAtc", text).trim(); } catch (error) {
      if (n === 20) throw error; // it is being started again
      sh("sleep", "0.5");
    }
  }
}
async function until(look, what, most = 240) {
  for (let n = 0; n < most * 5; n++) {
    const got = await look();
    if (got) return got;
    await sleep(200);
  }
  check(false, `${what}: waited ${most} s`);
  throw new Error(what);
}

/* --- machines ------------------------------------------------------------------------------- */
const machines = [];
function machine(name, args) {
  const one = { name, args, number: machines.length, ended: Promise.resolve(), log: "" };
  machines.push(one);
  if (bridge) {
    one.space = `${bridge}-${name}`;
    one.link = `${bridge}${one.number}`;
    one.address = `${subnet}.${10 + one.number}`;
    sh("ip", "netns", "add", one.space);
    sh("ip", "link", "add", one.link, "type", "veth", "peer", "name", "eth0", "netns", one.space);
    sh("ip", "link", "set", one.link, "master", bridge, "up");
    sh("ip", "-n", one.space, "link", "set", "lo", "up");
    sh("ip", "-n", one.space, "addr", "add", `${one.address}/24`, "dev", "eth0");
    sh("ip", "-n", one.space, "link", "set", "eth0", "up");
  }
  return one;
}
const store = bridge ? `postgresql://mistara@${subnet}.1/postgres` : database;
const processes = new Set();
process.on("exit", () => processes.forEach((child) => child.kill("SIGKILL")));
function begin(one) {
  const words = [program, `--data=${data}`, `--store=${store}`, `--lease=${LEASE}`, "--quiet", ...one.args,
    ...(one.desk && bridge ? [`--listen=${one.address}`, `--behind-proxy=${subnet}.1`] : [])];
  if (bridge) words.unshift("ip", "netns", "exec", one.space);
  const child = spawn(words[0], words.slice(1), { env: { MISTARA_FAULTS: path.join(source, "data/faults/default.faults"), ...process.env } });
  processes.add(child);
  one.child = child;
  child.stderr.on("data", (text) => (one.log += text));
  one.ended = new Promise((done) => child.on("close", (code, signal) => { processes.delete(child); done({ code, signal }); }));
  return new Promise((ready, refuse) => {
    let out = "";
    one.ended.then(() => refuse(new Error(`${one.name} ended: ${one.log.slice(-600)}`)));
    child.stdout.on("data", (text) => {
      out += text;
      const at = /^https?:\/\/([^:/]*):(\d+)\/(?:#enter=(\S+))?\n/.exec(out);
      if (one.desk && at) ready(Object.assign(one.desk, { host: bridge ? one.address : at[1], port: Number(at[2]), link: at[3] }));
      else if (!one.desk && out.includes("at work")) ready();
    });
  });
}
const kill = (one) => { one.child.kill("SIGKILL"); return one.ended; };
const cut = (one) => sh("ip", "link", "set", one.link, "down");
const mend = (one) => sh("ip", "link", "set", one.link, "up");

execFileSync(program, [`--data=${data}`, `--store=${database}`, "--set-passphrase"], { input: "lamp river seven\n", stdio: ["pipe", "pipe", "inherit"] });
const desks = [0, 1].map((n) => Object.assign(machine(`desk${n}`, ["--workers=-1", bridge ? "--port=7114" : "--port=0"]), { desk: {} }));
const workers = [0, 1, 2, 3].map((n) => machine(`work${n}`, ["--works-only", "--workers=1"]));
await Promise.all(machines.map(begin));
say(`two desks and four workers are there${bridge ? ", each on a machine of its own" : ""}`);

/* --- people: whoever does not get through tries the other desk ---------------------------------- */
const [teacher] = [{ ...desks[0].desk }];
const entered = await ask(teacher, "POST", "/api/session", { body: { passphrase: "lamp river seven" } });
equal(entered.status, 201, `the teacher comes in: ${entered.text}`);
Object.assign(teacher, { cookie: entered.headers["set-cookie"][0].split(";")[0], token: entered.json.token });
const { id: class_ } = await made(teacher, "/api/classes", { name: "Evening class" });
const passage = "112";
const given = (await made(teacher, `/api/classes/${class_}/assignments`, { passage })).id;
const reading = (await ask(teacher, "GET", `/api/reading?passage=${passage}`)).json;
const learners = [];
for (let n = 0; n < 6; n++) {
  const { id } = await made(teacher, `/api/classes/${class_}/people`, { label: `Learner ${n + 1}` });
  const who = await joins(teacher, (await made(teacher, `/api/people/${id}/code`)).code);
  await agrees(who);
  learners.push(who);
}
sql(`CREATE TABLE effect(id text, at timestamptz DEFAULT clock_timestamp());
CREATE FUNCTION noted() RETURNS trigger LANGUAGE plpgsql AS $$BEGIN INSERT INTO effect(id) VALUES(NEW.id); RETURN NEW; END$$;
CREATE TRIGGER noted AFTER UPDATE ON submission FOR EACH ROW WHEN (NEW.state='heard' AND OLD.state<>'heard') EXECUTE FUNCTION noted()`);

// As a phone does it: each step is asked again, here or there, until it is answered.
async function tried(what) {
  let last = "nothing";
  for (let n = 0; n < 400; n++) {
    const at = desks[(n + chance(2)) % 2].desk;
    const answer = await Promise.race([what(at).catch(() => null), sleep(6000)]);
    if (answer && answer.status < 500 && answer.status !== 429) return answer;
    last = answer ? `${answer.status} ${answer.text.slice(0, 200)}` : "nothing";
    await sleep(250);
  }
  throw new Error(`nobody answers: ${last}\n${desks.map((one) => one.log.slice(-500)).join("\n")}`);
}
const accepted = new Map(), ms = [];
async function handsIn(who, sound) {
  const since = performance.now(), as = (at) => ({ ...at, cookie: who.cookie, token: who.token });
  const opened = await tried((at) => ask(as(at), "POST", "/api/mine/uploads", { body: { assignment: given, type: "audio/wav", bytes: sound.length } }));
  if (opened.status !== 201) throw new Error(`no upload: ${opened.status} ${opened.text}`);
  const { upload } = opened.json;
  for (let have = 0; have < sound.length;) {
    const answer = await tried((at) => part(as(at), upload, have, sound.subarray(have, have + (1 << 17))));
    if (answer.status === 200 || answer.status === 409) have = answer.json.have;
    else throw new Error(`a part: ${answer.status} ${answer.text}`);
  }
  const answer = await tried((at) => ask(as(at), "POST", `/api/mine/uploads/${upload}/submit`, { body: {} }));
  if (answer.status !== 201 && answer.status !== 200) throw new Error(`not handed in: ${answer.status} ${answer.text}`);
  accepted.set(answer.json.id, performance.now());
  ms.push(performance.now() - since);
}
let seed = 1;
const many = (count) => Promise.all(Array.from({ length: count }, (_, n) => handsIn(learners[n % learners.length], buzz(reading, { seed: seed++ }))));
const running = () => Number(sql("SELECT count(*) FROM job WHERE state='running'"));
const left = () => Number(sql("SELECT count(*) FROM job WHERE state IN ('waiting','running')"));
const allHeard = () => until(() => Number(sql("SELECT count(*) FROM submission WHERE state='heard'")) === accepted.size && left() === 0, "all are heard");

/* --- a page at one desk hears of what the other one took in and a worker did -------------------- */
{
  const heard = new Promise((done) => {
    let text = "";
    import("node:http").then(({ default: http }) => http.get({ host: desks[0].desk.host, port: desks[0].desk.port, path: "/api/events", headers: { cookie: teacher.cookie } },
      (answer) => answer.on("data", (bytes) => { text += bytes; if (/event: submission\ndata: .*"state":"heard"/.test(text)) done(true); })));
  });
  await sleep(300);
  const who = learners[0], other = { ...desks[1].desk, cookie: who.cookie, token: who.token };
  const sound = buzz(reading, { seed: seed++ });
  const { upload } = await made(other, "/api/mine/uploads", { assignment: given, type: "audio/wav", bytes: sound.length });
  equal((await part(other, upload, 0, sound)).status, 200, "a recording goes to the second desk");
  accepted.set((await made(other, `/api/mine/uploads/${upload}/submit`)).id, performance.now());
  check(await Promise.race([heard, sleep(90000)]), "a page at the first desk is told that it was heard");
  // Signed out at one desk is signed out at the other.
  const again = await ask(desks[0].desk, "POST", "/api/session", { body: { passphrase: "lamp river seven" } });
  const second = { ...desks[1].desk, cookie: again.headers["set-cookie"][0].split(";")[0], token: again.json.token };
  equal((await ask(second, "GET", "/api/classes")).status, 200, "signed in at both");
  equal((await ask({ ...second, ...desks[0].desk, cookie: second.cookie, token: second.token }, "DELETE", "/api/session")).status, 204, "signed out at one");
  equal((await ask(second, "GET", "/api/classes")).status, 401, "and at the other");
}

/* --- trouble --------------------------------------------------------------------------------------- */
const troubles = {
  async worker() {
    const one = workers[chance(4)], sent = many(8);
    await until(() => running() >= 4, "all four are at work");
    await kill(one);
    say(`${one.name} was killed at work`);
    await sent;
    await allHeard();
    await begin(one);
  },
  async desk() {
    const one = desks[chance(2)], sent = many(8);
    await sleep(100 + chance(400));
    await kill(one);
    say(`${one.name} was killed while recordings came in`);
    await sent;
    await begin(one);
    await allHeard();
  },
  async database() {
    const sent = many(8);
    await until(() => running() >= 2, "at work");
    sh(process.env.MISTARA_TEST_RESTART);
    say("the database was killed and started again");
    await sent;
    await allHeard();
  },
  async cutWorker() {
    const one = workers[chance(4)], sent = many(8);
    await until(() => running() >= 4, "all four are at work");
    cut(one);
    say(`${one.name} was cut off at work`);
    await sent;
    await allHeard(); // without it
    mend(one);
  },
  async cutDesk() {
    const one = desks[chance(2)], sent = many(8);
    await sleep(100 + chance(400));
    cut(one);
    say(`${one.name} was cut off while recordings came in`);
    await sent;
    await allHeard();
    mend(one);
    await until(async () => {
      const answer = await Promise.race([ask({ ...one.desk, cookie: teacher.cookie, token: teacher.token }, "GET", "/api/classes").catch(() => null), sleep(3000)]);
      return answer?.status === 200;
    }, "it answers again by itself", 60);
  },
};
if (!bridge) { delete troubles.cutWorker; delete troubles.cutDesk; }
const kinds = Object.keys(troubles);
const met = {};
for (let n = 0; seconds ? performance.now() < seconds * 1000 : n < kinds.length; n++) {
  const kind = seconds ? kinds[chance(kinds.length)] : kinds[n];
  await troubles[kind]();
  met[kind] = (met[kind] ?? 0) + 1;
}

/* --- what came of it ----------------------------------------------------------------------------- */
await allHeard();
const rows = sql("SELECT s.id,s.state,t.state,t.report,t.id,(SELECT count(*) FROM measure m WHERE m.submission=s.id),(SELECT count(*) FROM effect e WHERE e.id=s.id),(SELECT count(*) FROM job j WHERE j.about=s.id AND j.state='done'),(SELECT count(*) FROM job j WHERE j.about=s.id) FROM submission s JOIN take t ON t.id=s.take ORDER BY s.number").split("\n").map((line) => line.split("|"));
equal(rows.length, accepted.size, "as many submissions as were accepted");
const places = rows[0][5];
check(Number(places) > 0, `${places} places were measured`);
for (const [id, submission, take, report, of, measures, effects, done, jobs] of rows) {
  check(accepted.has(id), `${id} was accepted`);
  equal([submission, take, report, effects, done, jobs], ["heard", "heard", "1", "1", "1", "1"], `${id} was listened to once in effect`);
  equal(measures, places, `${id}: every place of it`);
  check(existsSync(path.join(data, "reports", of, "report-en.json")), `${id}: its report is there`);
}
// A desk that dies while it opens an upload leaves its empty file to the nightly round.
equal(readdirSync(path.join(data, "uploads")).filter((name) => statSync(path.join(data, "uploads", name)).size > 0), [], "no sound is left of an upload");
const begun = Number(sql("SELECT sum(attempts) FROM job"));
check(begun > rows.length, `some work was begun again: ${begun} times in all`);
for (const one of machines) {
  one.child.kill("SIGTERM");
  const { code, signal } = await one.ended;
  equal([one.name, code, signal], [one.name, 0, null], `${one.name} ends in good order: ${one.log.slice(-300)}`);
}
ms.sort((a, b) => a - b);
say(`${rows.length} recordings, ${begun} times begun, ${JSON.stringify(met)}; handed in: median ${ms[ms.length >> 1].toFixed(0)} ms, longest ${ms.at(-1).toFixed(0)} ms; nothing lost, nothing twice`);
if (process.env.MISTARA_TEST_LOGS) machines.forEach((one) => console.log(`--- ${one.name}\n${one.log}`));
finish(bridge ? "school-net" : "school");
