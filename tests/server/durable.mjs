// durable.mjs – a class at work while the desk is killed at moments of chance: recordings, notes, rulings
// and answers that were sent. What the desk said is kept is there afterwards, nothing is there by half,
// the book is whole.
// ROUNDS and SEED make it longer: make book-soak.
import { ask, bursts, check, finish, folder, opened, stop, whole } from "./desk.mjs";
import { agrees, handsIn, made, person, uploads } from "./class.mjs";
import { buzz } from "./buzz.mjs";

const rounds = Number(process.env.ROUNDS ?? 5);
let seed = Number(process.env.SEED ?? 11) >>> 0;
const chance = (most) => {
  seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0;
  return Math.floor((seed / 2 ** 32) * most);
};
const pause = (ms) => new Promise((wake) => setTimeout(wake, ms));

const data = folder();
let desk = await opened(data, ["--quiet"]);
const of = (await made(desk, "/api/classes", { name: "Tuesday evening" })).id;
const given = (await made(desk, `/api/classes/${of}/assignments`, { passage: "112" })).id;
const learners = [];
for (const label of ["Lamp", "River", "Window"]) learners.push(await person(desk, of, label));
for (const one of learners) await agrees(one);

// One recording each that is heard, so that there is something to rule on; of the others no sound is like
// a recitation.
const reading = (await ask(desk, "GET", "/api/reading?passage=112")).json, places = new Map();
for (const [n, who] of learners.entries()) {
  const { id } = await handsIn(who, given, buzz(reading, { seed: n + 1 }));
  let one;
  do {
    await pause(50);
    one = (await ask(desk, "GET", `/api/submissions/${id}`)).json;
  } while (!["heard", "refused"].includes(one.state));
  check(one.state === "heard" && one.sites.length > 5, `places to rule on: ${one.problem}`);
  if (one.state !== "heard") finish("durable");
  places.set(id, { who, sites: one.sites.map(({ site }) => site) });
}

// What was answered: kept until something newer was answered about the same.
const answered = { submissions: new Map(), notes: new Map(), gone: new Set(), people: new Set(), parts: new Map(), rulings: new Map(), sent: new Map() };
let alive, deaths = 0, handed = 0, ruled = 0, sent = 0;
const at = (who) => ({ ...who, host: desk.host, port: desk.port });
// Whoever asks a desk that was killed gets no answer, and does not know what became of it.
async function going(work) {
  while (alive)
    try {
      await work();
    } catch {
      return;
    }
}
const learnerWork = (who) => async () => {
  const sound = bursts(1, 1 + chance(1e9));
  const upload = await uploads(at(who), given, sound);
  answered.parts.set(upload, { who, bytes: sound.length });
  const answer = await ask(at(who), "POST", `/api/mine/uploads/${upload}/submit`, { body: { marks: [] } });
  if (answer.status === 201 || answer.status === 200) {
    answered.parts.delete(upload);
    answered.submissions.set(answer.json.id, sound);
    handed++;
  }
};
const teacherWork = async () => {
  const ids = [...answered.submissions.keys()];
  if (ids.length === 0) return pause(5);
  const id = ids[chance(ids.length)];
  if (chance(4) === 0 && ids.length > 3) {
    answered.submissions.delete(id); // from here on either is right until it is answered
    const answer = await ask(desk, "DELETE", `/api/submissions/${id}`);
    if (answer.status === 204) answered.gone.add(id);
    return;
  }
  const answer = await ask(desk, "POST", `/api/submissions/${id}/notes`, { body: { text: `note ${chance(1e9)}`, at: null } });
  if (answer.status === 201) answered.notes.set(answer.json.id, id);
};
// A teacher's evening: rules on places, changes their mind, writes a line, sends the answer.
const answerWork = async () => {
  const id = [...places.keys()][chance(places.size)], { who, sites } = places.get(id);
  for (let n = 0; n < 3; n++) {
    const key = `${id} ${sites[chance(sites.length)]}`, ruling = ["agree", "overrule"][chance(2)];
    answered.rulings.set(key, [...(answered.rulings.get(key) ?? [""]), ruling]); // either, until it is answered
    const answer = await ask(desk, "PATCH", `/api/submissions/${key.replace(" ", "/sites/")}`, { body: { ruling } });
    if (answer.status !== 204) return check(false, `a ruling: ${answer.text}`);
    answered.rulings.set(key, [ruling]);
    ruled++;
  }
  const text = `answer ${chance(1e9)}`;
  const note = await ask(desk, "POST", `/api/submissions/${id}/notes`, { body: { text, at: null } });
  if (note.status !== 201) return;
  const answer = await ask(desk, "POST", `/api/submissions/${id}/send`, { body: {} });
  if (answer.status !== 200) return check(false, `an answer: ${answer.text}`);
  sent++;
  answered.sent.set(id, { who, sent_ms: answer.json.sent_ms, notes: [...(answered.sent.get(id)?.notes ?? []), note.json.id] });
};
const schoolWork = async () => {
  const { id } = await made(desk, `/api/classes/${of}/people`, { label: `Passing ${chance(1e9)}`, role: "learner" });
  answered.people.add(id);
  await pause(20);
  if (chance(2)) return;
  answered.people.delete(id);
  const answer = await ask(desk, "DELETE", `/api/people/${id}`);
  if (answer.status === 200) answered.gone.add(id);
};

for (let round = 0; round < rounds; round++) {
  alive = true;
  const work = [...learners.map((one) => going(learnerWork(one))), going(teacherWork), going(answerWork), going(schoolWork)];
  // Counted by the work done, not by the clock: a slow machine is killed later, not with less to lose.
  const before = { handed, ruled, sent };
  for (let n = 0; n < 1200 && (handed < before.handed + 2 || ruled < before.ruled + 3 || sent === before.sent); n++) await pause(50);
  await pause(chance(400));
  await stop(desk, "SIGKILL");
  deaths++;
  alive = false;
  await Promise.all(work);
  whole(data, `killed ${deaths} times, before anyone opens it`);
  const { cookie, token } = desk;
  desk = { ...(await opened(data, ["--quiet"])), cookie, token };
  for (const [id, sound] of answered.submissions) {
    const there = await ask(desk, "GET", `/api/submissions/${id}/audio`);
    check(there.raw.equals(sound), `round ${round}: submission ${id} is lost or changed (${there.status})`);
  }
  for (const id of new Set(answered.notes.values())) {
    if (!answered.submissions.has(id)) continue;
    const there = new Set((await ask(desk, "GET", `/api/submissions/${id}`)).json.notes.map((one) => one.id));
    for (const [note, about] of answered.notes) if (about === id) check(there.has(note), `round ${round}: note ${note} is lost`);
  }
  for (const [upload, { who, bytes }] of answered.parts) {
    const there = await ask(at(who), "GET", `/api/mine/uploads/${upload}`);
    check(there.status === 200 && (there.json.submission || there.json.have === bytes), `round ${round}: parts of ${upload} are lost: ${there.text}`);
  }
  for (const [id] of places) {
    const { sites } = (await ask(desk, "GET", `/api/submissions/${id}`)).json;
    for (const { site, ruling } of sites) {
      const may = answered.rulings.get(`${id} ${site}`) ?? [""];
      check(may.includes(ruling), `round ${round}: the ruling on ${id} ${site} is “${ruling}” instead of ${may}`);
    }
  }
  for (const [id, { who, sent_ms, notes }] of answered.sent) {
    const there = (await ask(at(who), "GET", `/api/mine/submissions/${id}`)).json;
    check(there.sent_ms >= sent_ms, `round ${round}: the answer to ${id} was sent at ${sent_ms}, and is of ${there.sent_ms}`);
    for (const note of notes) check(there.notes.some((one) => one.id === note), `round ${round}: note ${note} did not reach the learner`);
    check(there.sites.every(({ site }) => answered.rulings.has(`${id} ${site}`)), `round ${round}: ${id}: places nobody ruled on`);
  }
  const people = (await ask(desk, "GET", `/api/classes/${of}/people`)).json.people.map((one) => one.id);
  for (const id of answered.people) check(people.includes(id), `round ${round}: ${id} is lost`);
  const receipts = (await ask(desk, "GET", "/api/receipts")).json.receipts.map((one) => one.person);
  for (const id of answered.gone) {
    check(!people.includes(id), `round ${round}: ${id} is back`);
    check(receipts.includes(id) || (await ask(desk, "GET", `/api/submissions/${id}`)).status === 404, `round ${round}: ${id} has come back`);
  }
  whole(data, `killed ${deaths} times`);
}
check(ruled >= rounds && sent >= rounds, `only ${ruled} rulings and ${sent} answers`);
check(handed >= rounds, `only ${handed} submissions were answered`);
await stop(desk);

console.log(`durable: ${deaths} kills, ${handed} submissions handed in and ${answered.submissions.size} of them kept, ${ruled} rulings and ${sent} answers sent`);
finish("durable");
