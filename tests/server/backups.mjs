// backups.mjs – the whole book carried away while the desk is open, and a desk of the folder it
// becomes again; the commands `mistara backup`, `restore`, `check`, `class` and `export` beside it.
import { execFileSync, spawnSync } from "node:child_process";
import { createHash } from "node:crypto";
import { existsSync, readdirSync, writeFileSync } from "node:fs";
import path from "node:path";
import { check, equal, finish, folder, opened, signIn, start, stop } from "./desk.mjs";
import { agrees, askedAsDescribed, handsIn, made, person } from "./class.mjs";

const ask = askedAsDescribed();
const data = folder(), beside = folder();
const desk = await opened(data, ["--quiet"]);
const tuesday = (await made(desk, "/api/classes", { name: "Tuesday evening" })).id;
const lamp = await person(desk, tuesday, "Lamp"), river = await person(desk, tuesday, "River");
for (const one of [lamp, river]) await agrees(one);
const given = (await made(desk, `/api/classes/${tuesday}/assignments`, { passage: "112", title: "The echo letters" })).id;
const submission = (await handsIn(lamp, given)).id;

// Carried away: a tar file that others read, remembered by the book, and nothing of it left behind.
equal((await ask(desk, "GET", "/api/backups")).json, { backups: [] }, "none yet");
const backup = await ask(desk, "POST", "/api/backups", { body: {} });
equal([backup.status, backup.headers["content-type"]], [200, "application/x-tar"], "a backup");
const name = /filename="(mistara-[\w-]+\.tar)"/.exec(backup.headers["content-disposition"])?.[1];
const file = path.join(beside, name);
writeFileSync(file, backup.raw);
const listed = (await ask(desk, "GET", "/api/backups")).json.backups;
equal(listed.map((one) => [one.name, one.bytes]), [[name, backup.raw.length]], "the book knows of it");
equal(listed[0].digest, execFileSync("b2sum", ["-l", "256", file]).toString().slice(0, 64), "its digest is that of b2sum");
check(execFileSync("tar", ["tf", file]).toString().includes("mistara.db\nSUMS\n"), "tar reads it");
equal(readdirSync(path.join(data, "incoming")), [], "nothing is left in the folder");
equal((await ask(desk, "POST", "/api/backups", { body: { to: "/etc" } })).status, 400, "it goes where the browser puts it");

// A receipt says which backups still hold who went; one that was destroyed is named no more.
const receipt = (await ask(desk, "DELETE", `/api/people/${river.id}`)).json;
equal(receipt.backups, [name], "the receipt names it");
equal((await ask(desk, "DELETE", "/api/backups/0000000000000000")).status, 404, "no such backup");
equal((await ask(desk, "DELETE", `/api/backups/${listed[0].id}`)).status, 204, "it is forgotten");
equal((await ask(desk, "GET", "/api/backups")).json, { backups: [] }, "none any more");

// The commands, beside the open desk.
const mistara = path.join(process.env.MISTARA_BUILD_ROOT, "mistara");
function command(...words) {
  const { status, stdout, stderr } = spawnSync(mistara, words, { cwd: beside });
  return { code: status, out: stdout.toString(), err: stderr.toString() };
}
const at = ["--data", data];
equal(command("check", ...at), { code: 0, out: "The book is whole.\n", err: "" }, "mistara check");
const second = command("backup", "second.tar", ...at);
check(second.code === 0 && /^second\.tar: \d+ files, [\d.]+ KiB\nBLAKE2b-256 [0-9a-f]{64}\n$/.test(second.out), JSON.stringify(second));
check(command("backup", "second.tar", ...at).err.includes("is there already"), "never over another");
check(command("backup", "--list", ...at).out.includes("second.tar"), "mistara backup --list");
check(command("class", ...at).out.includes("Tuesday evening"), "mistara class");
check(/Lamp .*1 handed in/.test(command("class", "Tuesday evening", ...at).out), "mistara class NAME");
check(command("class", "Tuesday evening", "due", ...at).out.includes("everyone has"), "mistara class NAME due");
check(command("class", "Wednesday", ...at).err.includes("there is no class"), "a class that is not there");
const lines = command("class", "Tuesday evening", "--json", ...at).out.trim().split("\n").map(JSON.parse);
equal(lines.map((one) => [one.label, one.handed_in]), [["Lamp", 1]], "mistara class --json");
const out = command("export", "out", "--person", "Lamp", ...at);
check(out.code === 0 && existsSync(path.join(beside, "out/person.csv")), JSON.stringify(out));
equal(command("backup", "--forget", "second.tar", ...at).code, 0, "mistara backup --forget");
equal(command("restore", name, "again").code, 0, "mistara restore");
check(command("restore", name, "again").err.includes("not empty"), "never over another folder");
writeFileSync(path.join(beside, "half.tar"), backup.raw.subarray(0, backup.raw.length >> 1));
const half = command("restore", "half.tar", "never");
check(half.code !== 0 && half.err.includes("cut off or damaged") && !existsSync(path.join(beside, "never")), JSON.stringify(half));

// A desk of the folder it became: all is there, and nobody is signed in.
const audio = createHash("sha256").update((await ask(desk, "GET", `/api/submissions/${submission}/audio`)).raw).digest("hex");
await stop(desk);
const again = await start(path.join(beside, "again"), ["--quiet"]);
equal((await ask({ ...again, cookie: lamp.cookie }, "GET", "/api/session")).json.signed_in, false, "nobody is signed in");
await signIn(again);
const sound = (await ask(again, "GET", `/api/submissions/${submission}/audio`)).raw;
equal(createHash("sha256").update(sound).digest("hex"), audio, "the recording is there");
equal((await ask(again, "GET", `/api/classes/${tuesday}/people`)).json.people.map((one) => one.label), ["Lamp", "River"], "everyone is there who was");
equal((await ask(again, "DELETE", `/api/people/${river.id}`)).json.backups, [name], "the folder knows where it came from");
await stop(again);
finish("backups");
