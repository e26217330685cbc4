// The lesson and course files as lines (docs/lesson.md). The text is the only thing kept: a field of
// the page is a line of it, and an edit puts one line in the place of another, so that remarks,
// empty lines and whatever is not understood stay where they are. What a line means, and whether it
// holds, is the server's to say.

export interface Entry { line: number; key: string; value: string } // line from 0
export interface Section { name: string; head: number; end: number; entries: Entry[]; rows: Row[] } // end: behind its last line
export interface Row { line: number; text: string }
export interface LessonFile { lines: string[]; head: Entry[]; headEnd: number; sections: Section[] }

const headOf = (line: string) => /^\s*\[\s*([^\]]*?)\s*\]\s*$/.exec(line)?.[1]?.replace(/\s+/g, " ");
const means = (line: string) => line.trim() !== "" && !line.trimStart().startsWith("#");

function entryOf(text: string, line: number): Entry | null {
  const colon = text.indexOf(":");
  return colon < 0 ? null : { line, key: text.slice(0, colon).trim().replace(/\s+/g, " "), value: text.slice(colon + 1).trim() };
}

export function readFile(text: string): LessonFile {
  const lines = text.replace(/\r\n?/g, "\n").split("\n");
  const file: LessonFile = { lines, head: [], headEnd: lines.length, sections: [] };
  lines.forEach((line, n) => {
    const name = headOf(line);
    if (name !== undefined) {
      const before = file.sections.at(-1);
      if (before) before.end = n;
      else file.headEnd = n;
      file.sections.push({ name, head: n, end: lines.length, entries: [], rows: [] });
      return;
    }
    if (!means(line)) return;
    const section = file.sections.at(-1), entry = n === 0 && !section ? null : entryOf(line, n);
    if (section) section.rows.push({ line: n, text: line.trim() });
    if (entry) (section?.entries ?? file.head).push(entry);
  });
  return file;
}
const print = (lines: string[]) => lines.join("\n");
export const valueOf = (entries: Entry[], key: string) => entries.find((one) => one.key === key)?.value ?? "";
export const lineOf = (entries: Entry[], key: string) => entries.find((one) => one.key === key)?.line ?? -1;
// A value is one line; what a field holds beyond that becomes a blank.
const oneLine = (value: string) => value.replace(/\s*\n\s*/g, " ").trim();

// "key: value" at the head (section null) or in a section; an empty value takes the line out.
export function setValue(text: string, section: number | null, key: string, value: string): string {
  const file = readFile(text), part = section === null ? null : file.sections[section]!;
  const entries = part ? part.entries : file.head, at = lineOf(entries, key), said = oneLine(value);
  const lines = [...file.lines];
  if (at >= 0) lines.splice(at, 1, ...(said ? [`${key}: ${said}`] : []));
  else if (said) {
    const last = entries.at(-1)?.line ?? (part ? part.head : 0);
    lines.splice(last + 1, 0, ...(!part && entries.length === 0 ? [""] : []), `${key}: ${said}`);
  }
  return print(lines);
}

export function setLine(text: string, line: number, next: string): string {
  const lines = readFile(text).lines;
  lines[line] = oneLine(next);
  return print(lines);
}
export function dropLine(text: string, line: number): string {
  const lines = readFile(text).lines;
  lines.splice(line, 1);
  return print(lines);
}
// The line at `from` comes to stand where the line at `to` stands.
export function moveLine(text: string, from: number, to: number): string {
  const lines = readFile(text).lines;
  lines.splice(to, 0, ...lines.splice(from, 1));
  return print(lines);
}

const order = ["explain", "explain ar", "examples", "passage", "questions", "takes"];
// A new section, where drafts have it. Answers the text; its body follows its head.
export function addSection(text: string, name: string, body: string[]): string {
  const file = readFile(text), rank = order.indexOf(name);
  const next = rank < 0 ? undefined : file.sections.find((one) => order.indexOf(one.name) > rank);
  const at = next ? next.head : file.lines.length, lines = [...file.lines];
  while (!next && lines.length > 1 && lines.at(-1) === "") lines.pop();
  lines.splice(next ? at : lines.length, 0, ...(next ? [] : [""]), `[${name}]`, ...body, "");
  return print(lines);
}
export function addRow(text: string, name: string, row: string): string {
  const file = readFile(text), section = file.sections.findLast((one) => one.name === name);
  if (!section) return addSection(text, name, [row]);
  const lines = [...file.lines];
  lines.splice((section.rows.at(-1)?.line ?? section.head) + 1, 0, row);
  return print(lines);
}
export function dropSection(text: string, section: number): string {
  const file = readFile(text), { head, end } = file.sections[section]!, lines = [...file.lines];
  lines.splice(head, end - head);
  return print(lines);
}
// The section at `from` comes to stand where the one at `to` stands, with all its lines.
export function moveSection(text: string, from: number, to: number): string {
  const { lines, sections, headEnd } = readFile(text);
  const parts = sections.map((one) => {
    const part = lines.slice(one.head, one.end);
    while (part.at(-1)?.trim() === "") part.pop();
    return [...part, ""];
  });
  parts.splice(to, 0, ...parts.splice(from, 1));
  return print([...lines.slice(0, headEnd), ...parts.flat()]);
}

// An explanation: paragraphs; remarks in it stay, before them.
export function proseOf(section: Section | undefined, lines: string[]): string {
  if (!section) return "";
  return lines.slice(section.head + 1, section.end).filter((line) => !line.trimStart().startsWith("#"))
    .map((line) => line.trim().replace(/^\\(?=[#[\\])/, "")).join("\n").replace(/^\n+|\n+$/g, "");
}
export function setProse(text: string, name: string, prose: string): string {
  const file = readFile(text), section = file.sections.find((one) => one.name === name);
  const said = prose.split("\n").map((line) => line.trim().replace(/^(?=[#[\\])/, "\\"));
  if (!section) return prose.trim() ? addSection(text, name, said) : text;
  const remarks = file.lines.slice(section.head + 1, section.end).filter((line) => line.trimStart().startsWith("#"));
  const lines = [...file.lines];
  lines.splice(section.head, section.end - section.head,
    ...(prose.trim() || remarks.length ? [`[${section.name}]`, ...remarks, ...said, ""] : []));
  return print(lines);
}

// Rows: "range | note", "kind: range | count N | seed N", "name: file | range".
export const fieldsOf = (row: string) => row.split("|").map((part) => part.trim());
export interface Question { kind: string; range: string; count: string; seed: string }
export function questionOf(row: string): Question {
  const [first = "", ...more] = fieldsOf(row), entry = entryOf(first, 0);
  const of = (name: string, other: string) => more.find((part) => part.startsWith(name))?.slice(name.length).trim() ?? other;
  return { kind: entry?.key ?? "", range: entry?.value ?? first, count: of("count", "1"), seed: of("seed", "0") };
}
export const questionRow = (q: Question) => `${q.kind}: ${q.range} | count ${q.count} | seed ${q.seed}`;
export function takeOf(row: string): { name: string; file: string; range: string } {
  const [first = "", range = ""] = fieldsOf(row), entry = entryOf(first, 0);
  return { name: entry?.key ?? "", file: entry?.value ?? first, range };
}
export const listOf = (value: string) => value.split(",").map((one) => one.trim()).filter(Boolean);
