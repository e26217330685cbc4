// many.mjs – a school of many learners for the measurements: its desks, a phone for each learner, and
// how long everything took. With MISTARA_TEST_DATABASE (with_postgresql.sh): two desks without workers
// and one worker at PostgreSQL, which does WORKS things at once (1); without: one desk with one worker,
// SQLite.
import { execFileSync, spawn } from "node:child_process";
import { readFileSync } from "node:fs";
import path from "node:path";
import { ask, check, equal, folder, program, source, start } from "./desk.mjs";

const CLASS = 30, PIECE = 192 * 1024;
const { MISTARA_TEST_DATABASE: database } = process.env;
export const sleep = (ms) => new Promise((wake) => setTimeout(wake, ms));
export function chances(seed) {
  let state = seed >>> 0;
  return () => (state = (Math.imul(state, 1664525) + 1013904223) >>> 0) / 2 ** 32;
}
const q = (list, share) => list.toSorted((a, b) => a - b)[Math.min(list.length - 1, Math.floor(share * list.length))].toFixed(0);
export const spread = (list) => `median ${q(list, 0.5)} ms, p99 ${q(list, 0.99)} ms, longest ${q(list, 1)} ms`;

export async function opensSchool() {
  const data = folder(), store = database ? [`--store=${database}`] : [];
  execFileSync(program, [`--data=${data}`, ...store, "--set-passphrase"], { input: "lamp river seven\n", stdio: ["pipe", "pipe", "inherit"] });
  const desks = [];
  for (let n = 0; n < (database ? 2 : 1); n++)
    desks.push(await start(data, [...store, "--quiet", "--behind-proxy=127.0.0.1", `--workers=${database ? -1 : 1}`]));
  let worker = null;
  if (database) {
    worker = spawn(program, [`--data=${data}`, ...store, "--works-only", "--quiet", `--workers=${process.env.WORKS ?? 1}`], { env: { MISTARA_FAULTS: path.join(source, "data/faults/default.faults"), ...process.env }, stdio: ["ignore", "pipe", "ignore"] });
    process.on("exit", () => worker.kill("SIGKILL"));
    await new Promise((ready) => worker.stdout.once("data", ready));
  }
  const pids = [...desks.map((desk) => desk.child.pid), ...(worker ? [worker.pid] : [])];
  const school = {
    data, desks, times: {},
    store: database ? "PostgreSQL, two desks" : "SQLite, one desk",
    // Processor time of desks and worker; with their decoders, that is the children they waited for.
    spent: (decoding) => pids.reduce((sum, pid) => {
      const fields = readFileSync(`/proc/${pid}/stat`, "utf8").split(") ")[1].split(" ");
      return sum + (decoding ? [11, 12, 13, 14] : [11, 12]).reduce((all, n) => all + Number(fields[n]), 0) / 100;
    }, 0),
    // What the book itself says.
    sql: (question) => (database
      ? execFileSync("psql", [database, "-qAtc", question], { encoding: "utf8" })
      : execFileSync("python3", ["-c", "import sqlite3, sys\nprint('|'.join(str(n) for n in sqlite3.connect(sys.argv[1]).execute(sys.argv[2]).fetchone()))", path.join(data, "mistara.db"), question], { encoding: "utf8" })).trim(),
    async close() {
      const since = performance.now();
      for (const desk of desks) { desk.child.kill("SIGTERM"); await desk.ended; }
      if (worker) worker.kill("SIGTERM");
      console.log(`closed within ${((performance.now() - since) / 1000).toFixed(1)} s`);
    },
  };
  school.teacher = await comesIn(school, phone(school), { passphrase: "lamp river seven" });
  return school;
}

// A phone of its own each: its own address, and whichever desk the school's proxy gives it.
let phones = 0;
function phone({ desks }) {
  const n = ++phones;
  return { desk: desks[n % desks.length], from: `10.${n >> 16}.${(n >> 8) & 255}.${n & 255}` };
}
const as = ({ desk, cookie = "", token = "" }) => ({ host: desk.host, port: desk.port, cookie, token });

// Asked as a phone asks: told to wait or cut off, it asks again.
export async function timed({ times }, kind, who, method, url, options = {}, patience = 40) {
  for (let n = 0; ; n++) {
    const since = performance.now();
    const answer = await ask(as(who), method, url, { ...options, headers: { ...options.headers, "x-forwarded-for": who.from } }).catch((error) => error);
    (times[kind] ??= []).push(performance.now() - since);
    if (n === patience && answer instanceof Error) throw answer;
    if (answer.status < 429 || n === patience) return answer;
    (times[`${kind}: ${answer instanceof Error ? answer.code : "told to wait"}`] ??= []).push(0);
    await sleep(250);
  }
}
async function comesIn(school, who, body) {
  const answer = await timed(school, "coming in", who, "POST", "/api/session", { body });
  if (answer.status !== 201) throw new Error(`nobody comes in: ${answer.text}`);
  return Object.assign(who, { cookie: answer.headers["set-cookie"][0].split(";")[0], token: answer.json.token });
}
// Asked by someone who goes no further without it.
export async function needed(school, who, method, url, body, kind = "preparing") {
  const answer = await timed(school, kind, who, method, url, body === undefined ? {} : { body });
  if (answer.status > 202) throw new Error(`${url}: ${answer.status} ${answer.text}`);
  return answer.json;
}

// Classes of thirty, each with what `given` says of the n-th to assign, and everyone come in.
export async function admits(school, count, given) {
  const began = performance.now(), { teacher } = school, learners = [], classes = [];
  for (let n = 0; n < count; n += CLASS) {
    const { id } = await needed(school, teacher, "POST", "/api/classes", { name: `Class ${n / CLASS + 1}` });
    classes.push({ id, assignment: (await needed(school, teacher, "POST", `/api/classes/${id}/assignments`, given(n / CLASS))).id });
  }
  const coming = Array.from({ length: count }, (_, n) => n);
  await Promise.all(Array.from({ length: 8 }, async () => {
    for (let n; (n = coming.shift()) !== undefined;) {
      const of = Math.floor(n / CLASS);
      const { id } = await needed(school, teacher, "POST", `/api/classes/${classes[of].id}/people`, { label: `Learner ${n + 1}` });
      const { code } = await needed(school, teacher, "POST", `/api/people/${id}/code`, {});
      const who = await comesIn(school, phone(school), { code });
      await needed(school, who, "POST", "/api/mine/consent", { by: "self" });
      learners.push(Object.assign(who, { id, of, assignment: classes[of].assignment, number: n }));
    }
  }));
  console.log(`${count} learners in ${classes.length} classes came in within ${((performance.now() - began) / 1000).toFixed(0)} s`);
  return { learners, classes };
}

// Everyone hands in `sound(who)` at a moment of chance within the time, while a teacher looks at a desk
// every second. Gives what was accepted, by its id, as `kept(who, sound)` says.
export async function handIn(school, { learners, classes }, seconds, chance, sound, kept) {
  const accepted = new Map(), whole = [], { teacher } = school;
  let under = 0, most = 0, over = false;
  const one = async (who) => {
    await sleep(chance() * seconds * 1000);
    const own = sound(who), since = performance.now();
    most = Math.max(most, ++under);
    const opened = await timed(school, "opening an upload", who, "POST", "/api/mine/uploads", { body: { assignment: who.assignment, type: "audio/wav", bytes: own.length } });
    equal(opened.status, 201, `an upload: ${opened.text}`);
    const { upload } = opened.json;
    for (let at = 0; at < own.length;) {
      const answer = await timed(school, "a part of 192 KiB", who, "PUT", `/api/mine/uploads/${upload}?offset=${at}`, { body: own.subarray(at, at + PIECE), headers: { "content-type": "audio/wav" } });
      check(answer.status === 200 || answer.status === 409, `a part: ${answer.text}`); // 409: it is there already
      at = answer.json.have;
    }
    const answer = await timed(school, "handing in", who, "POST", `/api/mine/uploads/${upload}/submit`, { body: {} });
    check(answer.status === 201 || answer.status === 200, `handed in: ${answer.text}`);
    accepted.set(answer.json.id, kept(who, own));
    whole.push(performance.now() - since);
    const page = await timed(school, "a learner's page", who, "GET", "/api/mine");
    check(page.json?.assignments.some((given) => given.submissions.some((it) => it.id === answer.json.id)), "it is on the learner's page");
    under--;
  };
  const from = performance.now();
  const looking = (async () => {
    for (let n = 0; !over; n++) {
      const desk = await timed(school, "a teacher's desk", teacher, "GET", `/api/classes/${classes[n % classes.length].id}/desk`);
      check(desk.status === 200, "a teacher's desk is refused");
      await sleep(1000);
    }
  })();
  await Promise.all(learners.map(one));
  const took = (performance.now() - from) / 1000;
  over = true;
  await looking;
  return { accepted, whole, took, most };
}

// Every submission on the teachers' desks by now.
export async function onTheDesks(school, classes) {
  const rows = [];
  for (const { id } of classes) rows.push(...(await needed(school, school.teacher, "GET", `/api/classes/${id}/desk`, undefined, "looking")).submissions);
  return rows;
}

export function tell({ times }, whole) {
  console.log(`a whole recording: ${spread(whole)}`);
  for (const [kind, list] of Object.entries(times)) console.log(`  ${kind}: ${list.length} times, ${spread(list)}`);
}
