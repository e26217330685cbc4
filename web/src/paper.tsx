// The page as it is written at first, made while Mistara is built: the same frame and the same screen,
// with places (@NAME@) that src/server/first_page.c fills for the passage.
import { render } from "preact-render-to-string";
import { address, drawn, first, type Reading, type Rules, type Session } from "./api";
import { deskIn, DeskContext } from "./desk";
import { Frame } from "./frame";
import { firstFamilies } from "./text/screen";
import { say, type Lang } from "./words";

const passage = "67:1-5";
Object.assign(globalThis, { innerWidth: 1440, location: { pathname: `/text/${passage}`, search: "" } });

function put(html: string, what: RegExp, place: string): string {
  const found = html.match(new RegExp(what, "g"))?.length ?? 0;
  if (found !== 1) throw new Error(`the page that comes first has ${found} of ${what}`);
  return html.replace(what, place);
}

export function paper(lang: Lang, role: string): string {
  const rules: Rules = { families: [{ family: "length", name: "", name_ar: "", ink: "", ink_dark: "" }], rules: [], paper: "", paper_dark: "", lengths: [], choices: [] };
  const word = { at: "67:1:1", verse: "67:1", text: "", display: "", letters: [0, 0], sounds: [0, 0], sign: null, seam: "join" } as Reading["words"][number];
  const reading: Reading = { passage, title: "@TITLE@", how: {}, words: [word], letters: [], sites: [], signs: {} };
  first.answers[address("rules")] = rules;
  first.answers[address("suras")] = { suras: [{ sura: 67, name: "@NAME@", name_ar: "@NAME@", meaning: "", verses: 30 }], credits: "@CREDITS@" };
  first.answers[address("reading", drawn({ passage, lang }))] = reading;
  const session: Session = { signed_in: true, token: null, role, ways: [], passphrase: false, version: "" };
  const nothing = () => {};
  let html = render(<DeskContext.Provider value={deskIn(lang, "light")}>
    <Frame session={session} turn={nothing} swap={nothing} changed={nothing} leave={nothing} /></DeskContext.Provider>);
  html = put(html, /value="67:1-5"/, 'value="@PASSAGE@"');
  html = put(html, /<option[^>]*>67 @NAME@<\/option>/, "@SURA@");
  html = put(html, /<div class="steps">.*?<\/div>/, `@STEPS ${say(lang, "before")}|${say(lang, "after")}@`);
  html = put(html, /<label class="family"><input[^>]*><i class="swatch of-length"><\/i><\/label>/, `@FAMILIES ${firstFamilies.join(" ")}@`);
  html = put(html, /<span class="word".*?<\/span>(<span class="medal".*?<\/span>)?/, `@WORDS ${say(lang, "stop_after")}@`);
  html = put(html, /href="\/api\/sheet.pdf[^"]*"/, 'href="@SHEET@"');
  return html;
}
