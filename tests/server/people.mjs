// people.mjs – coming in with a card, agreeing, handing in over a bad line, taking back, leaving; and
// the answers against data/openapi.json.
import { execFileSync } from "node:child_process";
import { createHash } from "node:crypto";
import { mkdirSync, readdirSync, readFileSync, statSync, writeFileSync } from "node:fs";
import path from "node:path";
import { ask as plainly, bursts, check, equal, finish, folder, opened, program, signIn, start, stop } from "./desk.mjs";
import { agrees, askedAsDescribed, begins, handsIn, joins, made, part, person } from "./class.mjs";

const ask = askedAsDescribed();
const code = (answer) => answer.json?.error?.code;
const data = folder();
let desk = await opened(data, ["--names=desk.example,other.example"]);

/* --- a class --------------------------------------------------------------------------------- */
const evening = (await ask(desk, "POST", "/api/classes", { body: { name: "Tuesday evening", language: "en" } })).json;
equal([evening.retention_days, evening.learners, evening.closed_ms, evening.revision], [90, 0, 0, 1], "a new class");
check(/90 days/.test(evening.consent) && /guardian/.test(evening.consent), "its words of consent");
const shorter = (await ask(desk, "PATCH", `/api/classes/${evening.id}`, { body: { retention_days: 30, revision: 1 } })).json;
check(/30 days/.test(shorter.consent) && !/90/.test(shorter.consent), "the words follow the days");
equal(code(await ask(desk, "PATCH", `/api/classes/${evening.id}`, { body: { name: "x", revision: 1 } })), "conflict", "changed in between");
const arabic = (await ask(desk, "PATCH", `/api/classes/${evening.id}`, { body: { language: "ar" } })).json;
check(/30 يومًا/.test(arabic.consent), "… in Arabic");
const counted = {};
for (const days of [0, 1, 2, 5, 100, 103]) counted[days] = (await ask(desk, "PATCH", `/api/classes/${evening.id}`, { body: { retention_days: days } })).json.consent;
check(!/بعد/.test(counted[0]) && /بعد يوم من/.test(counted[1]) && /يومين/.test(counted[2]) && /5 أيام/.test(counted[5]) && /100 يوم /.test(counted[100]) && /103 أيام/.test(counted[103]),
  "days as Arabic counts them");
const own = (await ask(desk, "PATCH", `/api/classes/${evening.id}`, { body: { language: "en", retention_days: 30, consent: "We keep it a month." } })).json;
equal((await ask(desk, "PATCH", `/api/classes/${evening.id}`, { body: { retention_days: 31 } })).json.consent, own.consent, "words of one's own stay");
check(/30 days/.test((await ask(desk, "PATCH", `/api/classes/${evening.id}`, { body: { retention_days: 30, consent: "" } })).json.consent), "taken back, the usual ones return");
for (const [body, what] of [[{}, "no name"], [{ name: " \t " }, "a name of blanks"], [{ name: "x", language: "xx" }, "a language there is not"], [{ name: "x", retention_days: -1 }, "days below none"],
  [{ name: 7 }, "a name that is a number"], [{ name: "x".repeat(300) }, "a name too long"], [{ name: "x", odd: 1 }, "an odd member"]])
  equal(code(await ask(desk, "POST", "/api/classes", { body })), "usage", what);
equal((await ask(desk, "GET", "/api/classes")).json.classes.length, 1, "one class");
equal(code(await ask(desk, "GET", "/api/classes/0000000000000000/people")), "not_found", "a class there is not");

/* --- joining ------------------------------------------------------------------------------------ */
const people = `/api/classes/${evening.id}/people`;
const lamp = (await ask(desk, "POST", people, { body: { label: "Lamp" } })).json;
equal([lamp.role, lamp.language, lamp.consent, lamp.code, lamp.voice], ["learner", "en", null, null, false], "a new learner");
for (const body of [{}, { label: "x", role: "teacher" }, { label: "" }, { label: "x", language: "de" }])
  equal(code(await ask(desk, "POST", people, { body })), "usage", `refused: ${JSON.stringify(body)}`);
const nobody = () => ({ ...desk, cookie: "", token: "" });
const comes = (typed) => ask(nobody(), "POST", "/api/session", { body: { code: typed } });
const first = (await ask(desk, "POST", `/api/people/${lamp.id}/code`, { body: {} })).json;
check(/^[0-9a-z]{4}(-[0-9a-z]{4}){3}$/.test(first.code), `the code: ${first.code}`);
check(!/[ilou]/.test(first.code), "no letters that are mistaken for others");
equal([first.link, first.elsewhere], [`http://desk.example:${desk.port}/mine#join=${first.code}`, false], "the link has the name the desk goes by");
check(Math.abs(first.ends_ms - Date.now() - 14 * 864e5) < 60e3, "it lives for two weeks");
equal(code(await ask(desk, "POST", `/api/people/${lamp.id}/code`, { body: { days: 0 } })), "usage", "no day is too short");
check(!readdirSync(data).some((name) => statSync(path.join(data, name)).isFile() && readFileSync(path.join(data, name)).includes(first.code)), "the code is not on disk");
const second = (await ask(desk, "POST", `/api/people/${lamp.id}/code`, { body: { days: 1 } })).json;
equal((await comes(first.code)).status, 401, "a new code ends the earlier one");
const came = await comes(second.code.toUpperCase().replaceAll("-", " "));
equal([came.status, came.json.role, came.json.person], [201, "learner", { id: lamp.id, label: "Lamp", language: "en" }], "typed in capitals with blanks");
check(/HttpOnly/.test(came.headers["set-cookie"][0]) && /SameSite=Strict/.test(came.headers["set-cookie"][0]), "the cookie");
equal((await comes(second.code)).status, 401, "it holds once");
check((await ask(desk, "GET", `/api/people/${lamp.id}`)).json.code.used_ms > 0, "the teacher sees that it was used");
const third = (await ask(desk, "POST", `/api/people/${lamp.id}/code`, { body: {} })).json;
equal((await ask(desk, "DELETE", `/api/people/${lamp.id}/code`)).status, 204, "revoked");
equal((await comes(third.code)).status, 401, "a revoked one does not open");
equal((await ask(desk, "GET", `/api/people/${lamp.id}`)).json.code, null, "… and there is none");
equal(code(await ask(nobody(), "POST", "/api/session", { body: { code: "x", passphrase: "y" } })), "usage", "one way in at a time");
{ // Of many at once one comes in.
  const { code: one } = (await ask(desk, "POST", `/api/people/${lamp.id}/code`, { body: {} })).json;
  const several = await Promise.all(Array.from({ length: 3 }, () => comes(one)));
  equal(several.filter((answer) => answer.status === 201).length, 1, "of three at once one comes in");
}
let guesses = 0;
for (; guesses < 8 && (await comes("aaaa-bbbb-cccc-dddd")).status === 401; guesses++);
check(guesses < 6, `${guesses} guesses in a moment`);
await stop(desk);
desk = await opened(data, ["--names=desk.example"]);
{ // A whole class through one address: right codes are not what the pace is against.
  for (let n = 0; n < 9; n++) await person(desk, evening.id, `Learner ${n}`);
  check(true, "nine come in, one after another");
}
const learner = await joins(desk, (await ask(desk, "POST", `/api/people/${lamp.id}/code`, { body: {} })).json.code);

/* --- the card -------------------------------------------------------------------------------- */
{
  const trial = folder(), named = { ...desk };
  const pdf = await plainly(named, "GET", `/api/people/${lamp.id}/card.pdf`, { headers: { host: "desk.example" } });
  equal([pdf.status, pdf.headers["content-type"]], [200, "application/pdf"], "the card on paper");
  writeFileSync(path.join(trial, "card.pdf"), pdf.raw);
  execFileSync("pdftoppm", ["-r", "200", "-png", "card.pdf", "card"], { cwd: trial });
  const png = readdirSync(trial).find((name) => name.endsWith(".png"));
  const read = execFileSync("zbarimg", ["--quiet", "--raw", "-Sdisable", "-Sqrcode.enable", png], { cwd: trial, stdio: ["ignore", "pipe", "ignore"] }).toString().trim();
  const printed = execFileSync("pdftotext", ["-layout", "card.pdf", "-"], { cwd: trial }).toString();
  const on = /[0-9a-z]{4}(-[0-9a-z]{4}){3}/.exec(printed)?.[0];
  equal(read, `http://desk.example/mine#join=${on}`, "what the camera reads is the code on paper, at the name asked by");
  for (const word of ["Lamp", "Tuesday evening", "camera", "http://desk.example/mine"]) check(printed.includes(word), `the card does not say ${word}`);
  check(/[\u0600-\u06ff\ufb50-\ufeff]{3}/.test(printed), "… nor Arabic");
  const again = await joins(desk, on);
  equal(again.id, lamp.id, "it opens");
  // Five who have not come in yet: two pages, and none of the codes of those who have.
  const library = (await made(desk, "/api/classes", { name: "The town library" })).id;
  for (const label of ["Door", "Window", "مصباح", "River", "Cloud"]) await made(desk, `/api/classes/${library}/people`, { label });
  const all = await plainly(desk, "POST", `/api/classes/${library}/cards.pdf`, { body: {} });
  equal([all.status, all.headers["content-type"]], [200, "application/pdf"], "cards for a class");
  writeFileSync(path.join(trial, "all.pdf"), all.raw);
  execFileSync("pdftoppm", ["-r", "150", "-png", "all.pdf", "all"], { cwd: trial });
  const sheets = readdirSync(trial).filter((name) => /^all.*png$/.test(name)).sort();
  const links = sheets.map((name) => execFileSync("zbarimg", ["--quiet", "--raw", "-Sdisable", "-Sqrcode.enable", name], { cwd: trial, stdio: ["ignore", "pipe", "ignore"] }).toString().trim().split("\n"));
  equal(links.map((page) => page.length), [4, 1], "four on a page");
  equal(new Set(links.flat()).size, 5, "a code each");
  const entered = [];
  for (const link of links.flat()) entered.push((await joins(desk, link.split("#join=")[1])).id);
  equal(new Set(entered).size, 5, "each opens for someone else");
  equal((await ask(desk, "POST", `/api/classes/${library}/cards.pdf`, { body: {} })).status, 404, "then everyone has come in");
  await ask(desk, "DELETE", `/api/classes/${library}`);
  const svg = await ask(desk, "GET", `/api/people/${lamp.id}/card.svg`);
  check(svg.headers["content-type"] === "image/svg+xml" && /<svg/.test(svg.text) && svg.raw.length > 10000, "the card as a picture");
}

/* --- agreeing ------------------------------------------------------------------------------------ */
const take = (await plainly(desk, "POST", "/api/takes?name=mine&passage=78:31-40", { body: bursts(1, 3) })).json.id;
const given = (await ask(desk, "POST", `/api/classes/${evening.id}/assignments`, { body: { title: "The Great News", passage: "an-Naba 31-40", rules: "qalqala, ikhfa", attend: "the echo", take, stage: 1, how: { arid: 4 } } })).json;
equal([given.passage, given.rules, given.how, given.take, given.handed_in], ["78:31-40", "qalqala ikhfa", { arid: 4 }, take, 0], "an assignment");
for (const body of [{}, { passage: "200:1" }, { passage: "112", rules: "nosuchrule" }, { passage: "112", stage: 9 }, { passage: "112", take: "0000000000000000" }, { passage: "112", lesson: "0000000000000000" }, { passage: "112", how: { arid: 77 } }])
  check([400, 404].includes((await ask(desk, "POST", `/api/classes/${evening.id}/assignments`, { body })).status), `refused: ${JSON.stringify(body)}`);
const sound = bursts(8, 7);
const start_it = { assignment: given.id, type: "audio/webm;codecs=opus", bytes: sound.length };
const asked = await ask(learner, "POST", "/api/mine/uploads", { body: start_it });
equal([asked.status, code(asked)], [403, "consent"], "nothing is recorded before it was agreed to");
const page = (await ask(learner, "GET", "/api/mine")).json;
equal([page.consent.said_ms, page.consent.holds, page.assignments.length, page.assignments[0].take], [0, false, 1, 1], "a learner's page");
check(/30 days/.test(page.consent.words), "the words are shown");
equal(code(await ask(learner, "POST", "/api/mine/consent", { body: { by: "paper" } })), "usage", "paper is the teacher's to say");
check((await ask(learner, "POST", "/api/mine/consent", { body: { by: "guardian" } })).json.consent.holds, "a guardian agrees");
equal((await ask(desk, "GET", `/api/people/${lamp.id}`)).json.consent.by, "guardian", "the teacher sees who");
await ask(desk, "PATCH", `/api/classes/${evening.id}`, { body: { retention_days: 300 } });
equal(code(await ask(learner, "POST", "/api/mine/uploads", { body: start_it })), "consent", "other words are asked anew");
await ask(desk, "POST", `/api/people/${lamp.id}/consent`, { body: { by: "paper" } });
equal((await ask(learner, "GET", "/api/mine")).json.consent.by, "paper", "agreed on paper");
const spoken = await plainly(learner, "GET", `/api/mine/assignments/${given.id}/audio`, { headers: { range: "bytes=0-99" } });
equal([spoken.status, spoken.raw.length], [206, 100], "the teacher's recitation, part by part");
equal((await ask(learner, "GET", `/api/mine/assignments/${given.id}/words`)).json.words, [], "not listened to yet: no words");
mkdirSync(path.join(data, "reports", take), { recursive: true });

/* --- part by part --------------------------------------------------------------------------------- */
const upload = (await ask(learner, "POST", "/api/mine/uploads", { body: start_it })).json;
equal([upload.have, upload.bytes, upload.submission], [0, sound.length, null], "an upload begins");
const piece = 50000, pieces = Math.ceil(sound.length / piece);
const cut = (n) => sound.subarray(n * piece, Math.min(sound.length, (n + 1) * piece));
const sends = (offset, bytes, who = learner) => ask(who, "PUT", `/api/mine/uploads/${upload.upload}?offset=${offset}`, { body: bytes });
equal((await sends(0, cut(0))).json.have, piece, "the first part");
equal([(await sends(0, cut(0))).status, (await sends(0, cut(0))).json.have], [409, piece], "the same part again");
equal((await sends(2 * piece, cut(2))).json.have, piece, "a part too early");
equal((await sends(piece - 1, cut(1))).status, 409, "a part that overlaps");
equal((await sends(piece, Buffer.alloc(0))).status, 400, "an empty part");
equal((await plainly(learner, "PUT", `/api/mine/uploads/${upload.upload}`, { body: cut(1) })).status, 400, "a part that says not where");
equal((await sends(piece, Buffer.alloc((1 << 20) + 1))).status, 413, "a part beyond 1 MiB");
equal((await sends(piece, Buffer.concat([sound.subarray(piece), Buffer.from("more")]))).status, 413, "more than was said");
equal((await ask(learner, "POST", `/api/mine/uploads/${upload.upload}/submit`, { body: {} })).status, 400, "handed in too soon");
{ // Two windows send the same part at once: one is taken.
  const both = await Promise.all([sends(piece, cut(1)), sends(piece, cut(1))]);
  equal(both.map((answer) => answer.status).sort(), [200, 409], "the same part twice at once");
}
// The desk is killed between and in the middle of parts; the learner goes on from what it has.
for (let n = 2, kills = 0; n < pieces;) {
  const on_its_way = sends(n * piece, cut(n)).catch(() => null);
  if (kills < 3) {
    if (kills++ === 1) await on_its_way;
    await stop(desk, "SIGKILL");
    const before = { cookie: learner.cookie, token: learner.token };
    desk = await opened(data, ["--names=desk.example"]);
    Object.assign(learner, { ...desk, ...before, id: lamp.id });
    await on_its_way;
  } else check((await on_its_way).status === 200, `part ${n}`);
  const { have } = (await ask(learner, "GET", `/api/mine/uploads/${upload.upload}`)).json;
  check(have % piece === 0 || have === sound.length, `half a part was taken: ${have}`);
  n = Math.ceil(have / piece);
}
const marks = [{ at: "78:31:2", mark: "unsure" }];
for (const wrong of [[{ at: "78:31:2" }], [{ at: "nowhere", mark: "unsure" }], [{ at: "78:31:2", mark: "<b>" }], Array(501).fill(marks[0]), "x"])
  check([400, 404].includes((await ask(learner, "POST", `/api/mine/uploads/${upload.upload}/submit`, { body: { marks: wrong } })).status), `marks refused: ${JSON.stringify(wrong).slice(0, 60)}`);
const submitted = await ask(learner, "POST", `/api/mine/uploads/${upload.upload}/submit`, { body: { marks } });
equal([submitted.status, submitted.json.id, submitted.json.marks, submitted.json.audio, submitted.json.sites], [201, upload.upload, marks, true, []], "handed in");
const repeated = await ask(learner, "POST", `/api/mine/uploads/${upload.upload}/submit`, { body: { marks } });
equal([repeated.status, repeated.json.id], [200, submitted.json.id], "said again, the same");
equal((await ask(learner, "GET", `/api/mine/uploads/${upload.upload}`)).json, { upload: upload.upload, have: sound.length, bytes: sound.length, submission: upload.upload }, "the desk still knows it");
const back = await plainly(learner, "GET", `/api/mine/submissions/${submitted.json.id}/audio`);
equal(createHash("sha256").update(back.raw).digest("hex"), createHash("sha256").update(sound).digest("hex"), "byte for byte what was recorded");
equal(back.headers["content-type"], "audio/webm", "under the type it was recorded in");
equal((await ask(learner, "GET", "/api/mine")).json.assignments[0].submissions.map((one) => one.id), [submitted.json.id], "it is on the page once");
equal((await plainly(desk, "GET", "/api/takes")).json.takes.map((one) => one.id), [take], "it is not among the teacher's takes");
equal((await ask(desk, "GET", `/api/assignments/${given.id}`)).json.handed_in, 1, "the teacher sees that one handed in");
for (const [body, status] of [[{ ...start_it, type: "text/html" }, 415], [{ ...start_it, bytes: 65 * 1024 * 1024 }, 413], [{ ...start_it, bytes: 0 }, 400], [{ ...start_it, bytes: -5 }, 400],
  [{ ...start_it, assignment: "0000000000000000" }, 404], [{ type: "audio/webm", bytes: 5 }, 400]])
  equal((await ask(learner, "POST", "/api/mine/uploads", { body })).status, status, `refused: ${JSON.stringify(body)}`);
let begun = 0;
while (begun < 30 && (await ask(learner, "POST", "/api/mine/uploads", { body: start_it })).status === 201) begun++;
equal(begun, 12, "uploads that are begun and left are no more than twelve");
await ask(desk, "PATCH", `/api/assignments/${given.id}`, { body: { withdrawn: true } });
equal((await ask(learner, "POST", "/api/mine/uploads", { body: start_it })).status, 409, "nothing is handed in for what was withdrawn");
equal((await ask(learner, "GET", "/api/mine")).json.assignments.length, 1, "who handed in still sees it");
await ask(desk, "PATCH", `/api/assignments/${given.id}`, { body: { withdrawn: false } });
await ask(desk, "PATCH", `/api/classes/${evening.id}`, { body: { closed: true } });
equal((await sends(0, cut(0))).status, 409, "nor when the class has ended");
await ask(desk, "PATCH", `/api/classes/${evening.id}`, { body: { closed: false } });

/* --- what is noted live is about someone ------------------------------------------------------------------ */
{
  const notes = (body) => ask(desk, "POST", "/api/hearings", { body: { at: "78:31:1", what: "short", ...body } });
  equal((await notes({ who: "Lamp" })).json.person, lamp.id, "a name that only one learner has");
  equal((await notes({ who: "Lantern" })).json.person, null, "a name nobody has");
  const twin = (await ask(desk, "POST", people, { body: { label: "Learner 3" } })).json.id;
  equal((await notes({ who: "Learner 3" })).json.person, null, "a name two have");
  equal((await notes({ who: "Learner 3", person: twin })).json.person, twin, "said which of them");
  equal((await notes({ person: "0000000000000000" })).status, 404, "somebody there is not");
  // Which rule it is about, where the page did not say it: the one that acts there and fits.
  for (const [at, what, rule] of [["67:3:4:4", "short", "ikhfa"], ["67:3:3:2", "echo", "qalqala"], ["67:3:3:2", "well", "qalqala"],
    ["67:3:3:2", "letter", null], ["67:3:3:2", "long", null], ["67:3:4", "short", null], ["67:3:4", "nasal", "ikhfa"]])
    equal((await notes({ at, what })).json.rule, rule, `${what} at ${at}`);
  const about = (await ask(desk, "GET", `/api/hearings?person=${lamp.id}`)).json.hearings;
  equal(about.map((one) => one.who), ["Lamp"], "what was noted of one learner");
  equal((await ask(desk, "PATCH", `/api/hearings/${about[0].id}`, { body: { who: "Learner 5" } })).json.person !== lamp.id, true, "another name, another learner");
}

/* --- beyond this machine ------------------------------------------------------------------------------- */
{
  const away = folder();
  execFileSync(program, [`--data=${away}`, "--set-passphrase"], { input: "lamp river seven\n", stdio: ["pipe", "ignore", "ignore"] });
  const behind = await start(away, ["--behind-proxy=127.0.0.1", "--names=desk.example"]);
  const entered = await plainly(behind, "POST", "/api/session", { body: { passphrase: "lamp river seven" } });
  Object.assign(behind, { cookie: entered.headers["set-cookie"][0].split(";")[0], token: entered.json.token });
  const { id } = await made(behind, "/api/classes", { name: "x" });
  const one = await made(behind, `/api/classes/${id}/people`, { label: "x" });
  const card = await made(behind, `/api/people/${one.id}/code`);
  equal([card.link, card.elsewhere], [`https://desk.example/mine#join=${card.code}`, true], "behind a proxy the link is the proxy's");
  await stop(behind);
}

/* --- the teacher's passphrase is nobody else's matter ------------------------------------------------- */
equal((await ask(desk, "PUT", "/api/passphrase", { body: { passphrase: "lamp river seven" } })).status, 204, "a passphrase");
equal((await ask(learner, "GET", "/api/mine")).status, 200, "learners stay signed in");
equal((await ask(learner, "PUT", "/api/passphrase", { body: { passphrase: "mine alone now" } })).status, 403, "… and set none");

/* --- taken back -------------------------------------------------------------------------------------- */
const files = (at) => execFileSync("find", [path.join(data, at), "-type", "f"]).toString().split("\n").length - 1;
equal((await ask(learner, "DELETE", "/api/mine/consent")).json.recordings, 1, "consent is taken back; one recording may go");
equal((await ask(learner, "DELETE", "/api/mine/consent")).status, 409, "taken back once");
equal((await ask(learner, "POST", "/api/mine/uploads", { body: start_it })).status, 403, "nothing more is taken in");
check((await ask(learner, "GET", "/api/mine")).json.consent.withdrawn_ms > 0, "the page says so");
equal((await ask(learner, "DELETE", "/api/mine/recordings")).json.recordings, 1, "the recording goes");
equal([files("uploads"), (await plainly(learner, "GET", `/api/mine/submissions/${submitted.json.id}/audio`)).status], [0, 404], "nothing of it is left");
await agrees(learner, "guardian");
const kept = (await handsIn(learner, given.id, bursts(1, 99))).id;

/* --- leaving ------------------------------------------------------------------------------------------ */
const receipt = (await ask(desk, "DELETE", `/api/people/${lamp.id}`)).json;
equal([receipt.person, receipt.backups], [lamp.id, []], "a receipt");
equal((await ask(desk, "GET", "/api/receipts")).json.receipts[0].id, receipt.id, "… is kept");
equal((await ask(learner, "GET", "/api/mine")).status, 401, "who was deleted is out");
equal((await ask(desk, "GET", `/api/people/${lamp.id}`)).status, 404, "and gone");
const log = desk.err;
await stop(desk);
const database = readFileSync(path.join(data, "mistara.db"));
check(!database.includes("Lamp") && !database.includes(kept), "also from the file of the database");
check(!/Lamp|Tuesday|Great News|Learner 1|78:31/.test(log) && !log.includes(lamp.id) && !log.includes(evening.id) && !log.includes(second.code), "the log holds nothing personal");

/* --- what does not stay ----------------------------------------------------------------------------- */
desk = await opened(data);
const short = (await made(desk, "/api/classes", { name: "Saturday", retention_days: 7 })).id;
const week = (await made(desk, `/api/classes/${short}/assignments`, { passage: "112" })).id;
const door = await person(desk, short, "Door");
await agrees(door);
const old = (await handsIn(door, week, bursts(1, 11))).id, fresh = (await handsIn(door, week, bursts(1, 12))).id;
const late = (await made(desk, `/api/people/${door.id}/code`, { days: 7 })).code;
await stop(desk);
// Eight days go by for one of them, and for the card.
execFileSync("python3", ["-c", `
import sqlite3, sys
book = sqlite3.connect(sys.argv[1])
book.execute("update take set made_ms = made_ms - 8*86400000 where id = (select take from submission where id = ?)", (sys.argv[2],))
book.execute("update submission set made_ms = made_ms - 8*86400000 where id = ?", (sys.argv[2],))
book.execute("update join_code set made_ms = made_ms - 8*86400000, ends_ms = ends_ms - 8*86400000 where used_ms = 0")
book.commit()`, path.join(data, "mistara.db"), old]);
const before = { cookie: door.cookie, token: door.token };
desk = await signIn(await start(data));
Object.assign(door, { ...desk, ...before });
equal((await comes(late)).status, 401, "a card that ended opens nothing");
equal((await ask(door, "GET", `/api/mine/submissions/${old}`)).json.audio, false, "after its days a recording goes");
equal([(await plainly(door, "GET", `/api/mine/submissions/${old}/audio`)).status, (await plainly(door, "GET", `/api/mine/submissions/${fresh}/audio`)).status], [404, 200], "the others stay");
check(files("sound") >= 1, "on disk too");
equal((await ask(desk, "DELETE", `/api/classes/${short}`)).status, 204, "a class is deleted");
equal((await ask(door, "GET", "/api/mine")).status, 401, "with its people");

/* --- a session that is used goes on ------------------------------------------------------------------ */
const aged = async (days) => {
  await stop(desk);
  execFileSync("python3", ["-c", `
import sqlite3, sys
book = sqlite3.connect(sys.argv[1])
book.execute("update session set made_ms = made_ms - ?1, seen_ms = seen_ms - ?1", (int(sys.argv[2]) * 86400000,))
book.commit()`, path.join(data, "mistara.db"), String(days)]);
  desk = Object.assign(await start(data), { cookie: desk.cookie, token: desk.token });
};
const renewed = async () => (await ask(desk, "GET", "/api/suras")).headers["set-cookie"]?.[0] ?? "";
equal(await renewed(), "", "on the day of signing in nothing is given anew");
for (let n = 1; n <= 2; n++) { // 58 days in all
  await aged(29);
  const given = await renewed();
  check(given.startsWith(`${desk.cookie};`) && /HttpOnly; SameSite=Strict; Max-Age=2592000$/.test(given), `after 29 days, time ${n}, it is given for 30 more: ${given.replace(/=[^;]*/, "")}`);
  equal(await renewed(), "", "once a day");
}
await aged(31);
equal((await ask(desk, "GET", "/api/suras")).status, 401, "not used for 31 days it has ended");
const { code: ended } = await stop(desk);
equal(ended, 0, "it ends in good order");
check(!/"event":"trouble"/.test(desk.err), `trouble: ${desk.err.split("\n").filter((line) => /trouble/.test(line)).slice(0, 3)}`);
finish("people");
