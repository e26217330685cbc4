// round.mjs – a class's round from end to end: given out, handed in, listened to, ruled on, answered;
// voice notes without a name given back to their learners; what is known, and what to drill. Every
// answer is held against data/openapi.json.
import { ask as plainly, check, equal, finish, folder, jobEnd, opened, stop } from "./desk.mjs";
import { agrees, askedAsDescribed, handsIn, made, person, uploads } from "./class.mjs";
import { buzz } from "./buzz.mjs";

const ask = askedAsDescribed();
const get = async (desk, url) => (await ask(desk, "GET", url)).json;
const done = (answer, status, what) => equal(answer.status, status, `${what}: ${answer.text.slice(0, 200)}`);
// Until something is so: the desk works by itself.
async function until(look, what, seconds = 300) {
  for (let n = 0; n < seconds * 10; n++) {
    const got = await look();
    if (got) return got;
    await new Promise((wake) => setTimeout(wake, 100));
  }
  check(false, `${what}: waited ${seconds} s`);
  finish("round");
}

const data = folder();
let desk = await opened(data, ["--quiet"]);
const passage = "78:1-16";
const reading = await get(desk, `/api/reading?passage=${passage}`);
const held = reading.sounds.map((sound, n) => [sound, n]).filter(([sound]) => sound.nasal && sound.counts >= 2).map(([, n]) => n);
check(held.length >= 8, `${held.length} holds with ghunna`);
// The same reading with some of its holds let go early.
const cut = (which) => ({ ...reading, sounds: reading.sounds.map((sound, n) => (which.includes(n) ? { ...sound, share: 0.42 } : sound)) });

/* --- given out --------------------------------------------------------------------------------- */
const evening = (await made(desk, "/api/classes", { name: "Tuesday evening" })).id;
const take = await ask(desk, "POST", `/api/takes?passage=${passage}&name=Model&listen=1`, { body: buzz(reading, { seed: 3 }) });
equal((await jobEnd(desk, take.json.job)).state, "done", "the teacher's take is heard");
const learned = await ask(desk, "POST", "/api/voices", { body: { name: "teacher", takes: [take.json.id] } });
equal((await jobEnd(desk, learned.json.id)).state, "done", "and the voice learned");
done(await ask(desk, "PATCH", `/api/takes/${take.json.id}`, { body: { voice: "teacher" } }), 200, "the take names its voice");
const given = (await made(desk, `/api/classes/${evening}/assignments`, { passage, take: take.json.id, attend: "the holds" })).id;
const lamp = await person(desk, evening, "Lamp"), river = await person(desk, evening, "River");
for (const who of [lamp, river]) await agrees(who);

const other = await ask(desk, "POST", `/api/classes/${evening}/assignments`, { body: { passage: "67:1-5", take: take.json.id } });
done(other, 400, "a recitation of other verses is refused");
check(other.json.error.message.includes(`is of ${passage} and has no verse of 67:1-5`) && /تلاوتك/.test(other.json.error.message_ar), `in words: ${other.text}`);
done(await ask(desk, "PATCH", `/api/assignments/${given}`, { body: { passage: "67:1-5" } }), 400, "nor may the passage move away from it");
equal((await get(desk, "/api/takes?meets=an-Naba%203")).takes.map((one) => one.id), [take.json.id], "what has a verse of a passage");
equal((await get(desk, "/api/takes?meets=al-Mulk")).takes, [], "and what has none");

/* --- handed in and listened to, though the desk is killed in between ------------------------------ */
const wrong = [held[1], held[4]];
const clean = (await handsIn(lamp, given, buzz(reading, { seed: 11 }))).id;
const short = (await handsIn(river, given, buzz(cut(wrong), { seed: 12 }))).id;
await stop(desk, "SIGKILL");
const before = { lamp, river };
desk = await opened(data, ["--quiet"]);
for (const who of Object.values(before)) Object.assign(who, { child: desk.child, port: desk.port, host: desk.host });
const heard = async (id) => until(async () => {
  const one = await get(desk, `/api/submissions/${id}`);
  if (one.state === "refused") { check(false, `refused: ${one.problem}`); finish("round"); }
  return one.state === "heard" && one;
}, "it is heard");
const first = await heard(clean), second = await heard(short);
const rows = (await get(desk, `/api/classes/${evening}/desk`)).submissions;
equal(rows.map((row) => row.id), [short, clean], "the neediest comes first");
check(second.need > first.need, `need ${second.need} above ${first.need}`);
const at = wrong.map((n) => reading.sounds[n]);
// A nasal let go early may also be said to have become single: at the same place, never elsewhere.
const worst = second.sites.filter((site) => site.told === "short");
const placed = (site) => site.at.split(":").slice(0, 3).join(":");
const words = worst.map(placed).sort();
check(worst.length === 2 && worst.every((site) => site.sureness > 0.6), `the cut holds are told short: ${JSON.stringify(second.sites.slice(0, 6).map((site) => [site.at, site.told, site.sureness, site.fault, site.start_ms, site.end_ms, site.measured_counts]))}`);
check(worst.every((site) => site.measured_counts < 0.6 * site.expected_counts && site.counts_low <= site.measured_counts && site.measured_counts <= site.counts_high), "with their counts");
check(worst.every((site) => site.word && site.letter && site.name && site.name_ar), "their word, letter and rule");
check(first.sites.filter((site) => site.told === "short" || site.told === "long").length <= 1, `of the clean one hardly anything is: ${JSON.stringify(first.sites.filter((site) => site.told !== "right").map((site) => [site.at, site.told]))}`);
check(second.sites.filter((site) => site.told === "fault").every((site) => words.includes(placed(site))), "faults where something was cut");
check(second.sites.slice(0, 4).filter((site) => site.told === "short").length === 2, "the worst-looking first");
equal(words, at.map((sound) => reading.words[sound.word].at).sort(), "where it was cut");
check(second.reminder && second.reminder_ar, "a teacher decides");

const clip = await plainly(desk, "GET", `/api/submissions/${short}/clip.wav?site=${worst[0].site}`);
const clipSeconds = (clip.raw.length - 44) / 32000;
check(clip.raw.toString("latin1", 0, 4) === "RIFF" && Math.abs(clipSeconds - (worst[0].end_ms - worst[0].start_ms + 700) / 1000) < 0.05, `a clip of ${clipSeconds} s`);
equal((await plainly(desk, "GET", `/api/submissions/${short}/clip.wav?site=9999`)).status, 404, "no such place");
equal((await plainly(desk, "GET", `/api/submissions/${short}/audio`, { headers: { range: "bytes=0-3" } })).text, "RIFF", "the recording, in parts");

/* --- ruled on, answered, sent ------------------------------------------------------------------------ */
const rule = (site, ruling) => ask(desk, "PATCH", `/api/submissions/${short}/sites/${site}`, { body: { ruling } });
done(await rule(worst[0].site, "agree"), 204, "agreed");
done(await rule(worst[1].site, "overrule"), 204, "overruled");
done(await rule(worst[1].site, "maybe"), 400, "no such ruling");
done(await rule(9999, "agree"), 404, "no such place");
const ruled = await get(desk, `/api/submissions/${short}`);
equal(worst.map((one) => ruled.sites.find((site) => site.site === one.site).ruled_wrong), [true, false], "what the rulings say");
equal(ruled.ruled, 2, "two are ruled on");
const limit = JSON.parse(JSON.stringify((await get(desk, `/api/classes/${evening}`)).limits)).site_deviation;
check(limit > 1 && limit < 6, `the class has a limit of its own: ${limit}`);
done(await ask(desk, "POST", `/api/submissions/${short}/notes`, { body: { text: "Stay on it with the nose.", at: worst[0].at } }), 201, "a note");
done(await ask(desk, "POST", `/api/submissions/${short}/notes`, { body: { text: "" } }), 400, "an empty one");
const spoken = await ask(desk, "POST", `/api/submissions/${short}/voice-notes`, { body: buzz({ sounds: reading.sounds.slice(0, 20) }) });
done(spoken, 201, "a spoken note");
const gone = await ask(desk, "POST", `/api/submissions/${short}/notes`, { body: { text: "taken back" } });
done(await ask(desk, "DELETE", `/api/submissions/${short}/notes/${gone.json.id}`), 204, "taken back");
equal((await plainly(desk, "DELETE", `/api/submissions/${clean}/notes/${spoken.json.id}`)).status, 404, "not through another's");

const unsent = await get(river, `/api/mine/submissions/${short}`);
equal([unsent.notes, unsent.sites, unsent.sent_ms], [[], [], 0], "nothing reaches the learner before it is sent");
equal((await get(river, "/api/mine/progress")).rules, [], "… nor what is known of them by it");
equal((await plainly(river, "GET", `/api/mine/submissions/${short}/notes/${spoken.json.id}/audio`)).status, 404, "… nor the voice");
done(await ask(desk, "POST", `/api/submissions/${short}/send`, { body: {} }), 200, "sent");
check((await get(river, "/api/mine/progress")).rules.length > 0, "then it tells them how it goes");
const goes = async () => (await get(river, "/api/mine/progress")).rules.map(({ rule: id, heard, right }) => [id, heard, right]);
const went = await goes();
done(await rule(worst[0].site, "overrule"), 204, "thought of otherwise");
equal(await goes(), went, "a later ruling waits for the next sending");
done(await rule(worst[0].site, "agree"), 204, "and back");
const answer = await get(river, `/api/mine/submissions/${short}`);
equal(answer.notes.map((note) => note.text), ["Stay on it with the nose.", ""], "the notes");
equal(answer.sites.map((site) => [site.at, site.told]), [[worst[0].at, "short"]], "the place the teacher calls wrong, and nothing of the one that was right");
equal((await plainly(river, "GET", `/api/mine/submissions/${short}/notes/${spoken.json.id}/audio`)).status, 200, "the spoken note");
equal((await get(desk, `/api/classes/${evening}/desk`)).submissions.map((row) => row.id), [clean], "what was sent is off the desk");
/* What comes after waits until the answer is sent again. */
done(await rule(worst[0].site, "overrule"), 204, "ruled otherwise");
done(await rule(worst[1].site, "agree"), 204, "and otherwise");
const late = await ask(desk, "POST", `/api/submissions/${short}/voice-notes`, { body: buzz({ sounds: reading.sounds.slice(0, 20) }) });
equal([late.json.sent, (await get(desk, `/api/submissions/${short}`)).notes.map((note) => note.sent)], [false, [true, true, false]], "which notes the learner has");
const same = await get(river, `/api/mine/submissions/${short}`);
equal([same.notes, same.sites.map((site) => [site.at, site.told])], [answer.notes, answer.sites.map((site) => [site.at, site.told])], "the learner has what was sent");
equal((await plainly(river, "GET", `/api/mine/submissions/${short}/notes/${late.json.id}/audio`)).status, 404, "… and not the later voice");
done(await ask(desk, "POST", `/api/submissions/${short}/send`, { body: {} }), 200, "sent again");
const anew = await get(river, `/api/mine/submissions/${short}`);
equal([anew.notes.length, anew.sites.map((site) => [site.at, site.told])], [3, [[worst[1].at, "short"]]], "then they have it");
equal([anew.notes[0].word, anew.notes[0].start_ms], [worst[0].word, worst[0].start_ms], "a note says its word, and when it sounds");
equal((await get(desk, `/api/classes/${evening}/desk?sent=1`)).submissions.length, 2, "… and can be looked at again");

/* --- a voice learned, a voice note given back --------------------------------------------------------- */
const enrolled = await ask(desk, "POST", `/api/people/${lamp.id}/enrol`, { body: { submission: clean } });
done(enrolled, 202, "promised");
equal((await jobEnd(desk, enrolled.json.id)).state, "done", "the learner's voice is learned");
equal((await get(desk, `/api/people/${lamp.id}`)).voice, true, "and named");
equal((await plainly(desk, "POST", `/api/people/${river.id}/enrol`, { body: { submission: clean } })).status, 404, "not from another's recording");
const note = await ask(desk, "POST", `/api/classes/${evening}/imports?name=PTT-0031.opus`, { body: buzz(reading, { seed: 21 }) });
done(note, 201, "a voice note");
const proposed = await until(async () => (await get(desk, `/api/classes/${evening}/imports`)).imports.find((one) => one.proposal), "a proposal");
check(proposed.seconds > 5, `its length: ${proposed.seconds} s`);
const list = await ask(desk, "POST", `/api/classes/${evening}/imports?name=list.txt`, { body: Buffer.from("milk, bread, and no sound at all\n".repeat(20)) });
done(list, 201, "a file that is no sound");
const unheard = await until(async () => (await get(desk, `/api/classes/${evening}/imports`)).imports.find((one) => one.id === list.json.id && one.state === "refused"), "it is refused");
check(unheard.problem && unheard.problem_ar && !unheard.problem.includes(data) && unheard.seconds === null, `and says why: ${JSON.stringify(unheard)}`);
done(await ask(desk, "DELETE", `/api/submissions/${list.json.id}`), 204, "thrown away");
equal([proposed.name, proposed.proposal.passage, proposed.proposal.person, proposed.proposal.label, proposed.proposal.assignment], ["PTT-0031.opus", passage, lamp.id, "Lamp", given], "what is proposed");
equal((await get(desk, `/api/classes/${evening}/desk`)).submissions.length, 1, "nobody's is not on the desk");
equal((await plainly(desk, "POST", `/api/submissions/${note.json.id}/send`, { body: {} })).status, 409, "nor can it be answered");
const confirms = () => ask(desk, "POST", `/api/imports/${note.json.id}/confirm`, { body: { person: lamp.id, passage: null, assignment: given } });
done(await ask(desk, "DELETE", `/api/people/${lamp.id}/consent`), 200, "consent taken back");
const unagreed = await confirms();
equal([unagreed.status, unagreed.json.error.code], [403, "consent"], "no voice note of one who has not agreed");
done(await ask(desk, "POST", `/api/people/${lamp.id}/consent`, { body: { by: "paper" } }), 200, "agreed on paper");
done(await confirms(), 200, "confirmed");
equal((await plainly(desk, "POST", `/api/imports/${note.json.id}/confirm`, { body: { person: lamp.id, passage } })).status, 409, "once");
equal((await heard(note.json.id)).person, lamp.id, "and listened to like any other");
equal((await get(desk, `/api/classes/${evening}/imports`)).imports, [], "nothing waits for a name");

/* --- noise is refused, and says so -------------------------------------------------------------------- */
const noise = (await handsIn(lamp, given)).id;
const refused = await until(async () => {
  const one = await get(desk, `/api/submissions/${noise}`);
  return one.state === "refused" && one;
}, "refused");
check(refused.problem && refused.need === 1, `what cannot be heard comes first, with the reason: ${refused.problem}`);
done(await ask(desk, "DELETE", `/api/submissions/${noise}`), 204, "deleted");
equal((await plainly(desk, "GET", `/api/submissions/${noise}`)).status, 404, "gone");

/* --- what is known --------------------------------------------------------------------------------------- */
const progress = await get(desk, `/api/people/${river.id}/progress`);
const ruleOf = (id) => progress.rules.find((one) => one.rule === id);
check(progress.rules.length > 3 && progress.rules.every((one) => one.low >= 0 && one.high <= 1 && one.low <= one.known && one.known <= one.high), `rules with their intervals: ${JSON.stringify(progress.rules.map((one) => [one.rule, one.low, one.known, one.high]))}`);
check(ruleOf(worst[0].rule)?.letters.length > 0 && ruleOf(worst[0].rule)?.course.length > 0, "letters and weeks of a rule");
const whole = await get(desk, `/api/classes/${evening}/progress`);
equal(whole.people.map((one) => one.label).sort(), ["Lamp", "River"], "each of the class");
const table = await plainly(desk, "GET", `/api/classes/${evening}/progress.csv`);
check(table.text.startsWith("learner,") && table.text.includes("River") && table.text.includes("\r\n"), "a table");
for (const url of [`/api/people/${river.id}/progress.pdf?for=parent`, `/api/people/${river.id}/progress.pdf`, `/api/classes/${evening}/progress.pdf`])
  equal((await plainly(desk, "GET", url)).raw.toString("latin1", 0, 5), "%PDF-", url);
const drill = await get(desk, `/api/people/${river.id}/drill?in=juz 30`.replace(" ", "%20"));
check(drill.skills.length === 0 || drill.passages.length > 0, "verses for what is weak");

/* --- the nose pinched -------------------------------------------------------------------------------------- */
const open = await uploads(lamp, given, buzz(reading, { seed: 31 })), pinched = await uploads(lamp, given, buzz(reading, { seed: 32 }));
const promised = await ask(lamp, "POST", "/api/mine/pinch", { body: { passage, open, pinched } });
done(promised, 202, "promised");
equal((await plainly(river, "GET", `/api/mine/pinch?job=${promised.json.job}`)).status, 404, "only one's own");
const pinch = await until(async () => {
  const got = await get(lamp, `/api/mine/pinch?job=${promised.json.job}`);
  return ["done", "failed"].includes(got.state) && got;
}, "compared");
equal(pinch.state, "done", `compared: ${pinch.reason}`);
check(pinch.result.sites.length > 0 && pinch.result.text && pinch.result.text_ar, "each hold, and in words");
check(pinch.result.sites.every((site) => site.verdict !== "dies"), "nothing dies where nothing was shut");
for (const id of [open, pinched]) equal((await plainly(lamp, "GET", `/api/mine/uploads/${id}`)).status, 404, "the two recordings are gone");

await stop(desk);
finish("round");
