// Who is in the class: a label each, a code to come in with, what they agreed to.
import { useEffect, useRef, useState } from "preact/hooks";
import { get, send } from "../api";
import { useDesk, useWords } from "../desk";
import { Backups } from "./backups";
import { Go, Trouble, useAct } from "./choose";
import { download } from "./download";
import { dateLang, dayText, type Class, type Code, type Person, type Receipt } from "./types";
import { classWords } from "./words";

export function usePeople(id: string) {
  const [people, setPeople] = useState<Person[] | null>(null);
  const [trouble, setTrouble] = useState("");
  const [elsewhere, setElsewhere] = useState(true);
  const load = () => get<{ people: Person[]; elsewhere: boolean }>(`classes/${id}/people`).then((found) => { setPeople(found.people); setElsewhere(found.elsewhere); }, (error: Error) => setTrouble(error.message));
  useEffect(() => void load(), [id]);
  return { people, elsewhere, trouble, load };
}

export function People({ now, teaching }: { now: Class; teaching: boolean }) {
  const t = useWords(classWords);
  const { lang } = useDesk();
  const { people, elsewhere, trouble: missing, load } = usePeople(now.id);
  const { act, trouble, busy } = useAct();
  const [label, setLabel] = useState("");
  const [role, setRole] = useState("learner");
  const [language, setLanguage] = useState(now.language);
  const [code, setCode] = useState<{ person: Person; code: Code } | null>(null);
  const [receipt, setReceipt] = useState<Receipt | null>(null);
  const waiting = people?.filter((one) => !one.left_ms && !(one.code?.used_ms)) ?? [];
  const makeCode = (person: Person) => act(async () => {
    setCode({ person, code: await send<Code>("POST", `people/${person.id}/code`) });
    await load();
  });
  // What a new card ends, and where its address leads: said before it is made.
  const sure = (ends: boolean, words: string) => {
    const said = [...(ends ? [words] : []), ...(elsewhere ? [] : [t("code_here")])];
    return said.length === 0 || confirm(said.join("\n\n"));
  };
  const card = async (person: Person) => {
    await download(`people/${person.id}/card.pdf`, () => "card.pdf", "GET");
    if (code?.person.id === person.id) setCode(null);
    await load();
  };
  const cards = async () => {
    setCode(null);
    await download(`classes/${now.id}/cards.pdf`, () => "cards.pdf");
    await load();
  };
  return <section aria-label={t("people")}>
    {teaching && <form class="bar" aria-label={t("add_person")} onSubmit={(event) => {
      event.preventDefault();
      void act(async () => { await send("POST", `classes/${now.id}/people`, { label: label.trim(), role, language, note: "" }); setLabel(""); await load(); });
    }}>
      <label>{t("label")}<input type="text" dir="auto" required pattern=".*\S.*" maxLength={60} value={label} placeholder={`${t("label_hint").replace(/\d+$/, "")}${(people?.length ?? 0) + 1}`}
        onInput={(event) => setLabel(event.currentTarget.value)} /></label>
      <label>{t("role")}<select value={role} onChange={(event) => setRole(event.currentTarget.value)}>
        <option value="learner">{t("learner")}</option><option value="assistant">{t("assistant")}</option></select></label>
      <label>{t("language")}<select value={language} onChange={(event) => setLanguage(event.currentTarget.value)}>
        <option value="en">{t("english")}</option><option value="ar">{t("arabic")}</option></select></label>
      <button type="submit" disabled={busy}>{t("add_person")}</button>
      {waiting.length > 0 && <button type="button" class="quiet" onClick={() => { if (sure(true, t("cards_sure"))) void act(cards); }}>{t("cards")}</button>}
    </form>}
    <Trouble of={trouble || missing} />
    {receipt && <ReceiptNote receipt={receipt} close={() => setReceipt(null)} />}
    {code && <section class="leaf code-shown" aria-labelledby="the-code">
      <h2 id="the-code">{t("code")}: <bdi>{code.person.label}</bdi></h2>
      <p class="code" dir="ltr">{code.code.code}</p>
      <p>{t("code_lead")} {new Date(code.code.ends_ms).toLocaleString(dateLang(lang), { dateStyle: "long", timeStyle: "short" })}</p>
      <p>{t("code_link")}: <bdi class="code-link">{code.code.link}</bdi></p>
      {!code.code.elsewhere && <p class="trouble">{t("code_here")}</p>}
      <p class="row"><button type="button" class="quiet" onClick={() => setCode(null)}>{t("close")}</button></p>
    </section>}
    {people?.length === 0 && <p class="faint">{t("no_people")}</p>}
    <ol class="people">{people?.map((one) => <OnePerson key={`${one.id} ${one.revision}`} of={one} now={now} teaching={teaching} busy={busy}
      makeCode={() => void makeCode(one)} makeCard={() => { if (sure(!!one.code && !one.code.used_ms && one.code.ends_ms > Date.now(), t("card_sure"))) void act(() => card(one)); }} changed={load} gone={(kept) => { setReceipt(kept); void load(); }} />)}</ol>
    {teaching && <Receipts fresh={receipt?.id ?? ""} lang={lang} />}
    {teaching && <Backups />}
  </section>;
}

function OnePerson(props: {
  of: Person; now: Class; teaching: boolean; busy: boolean; makeCode: () => void; makeCard: () => void; changed: () => Promise<void>; gone: (receipt: Receipt) => void;
}) {
  const t = useWords(classWords);
  const { lang } = useDesk();
  const { of, teaching } = props;
  const { act, trouble } = useAct();
  const [changing, setChanging] = useState(false);
  const [label, setLabel] = useState(of.label);
  const [note, setNote] = useState(of.note);
  const consent = of.consent && of.consent.said_ms ? (of.consent.withdrawn_ms ? t("consent_withdrawn") : !of.consent.holds ? t("consent_other")
    : `${t(of.consent.by === "guardian" ? "by_guardian" : of.consent.by === "paper" ? "by_paper" : "by_self")} · ${dayText(lang, of.consent.said_ms)}`) : t("consent_none");
  const agreed = of.consent?.holds === true;
  const code = !of.code ? t("code_none") : of.code.used_ms ? `${t("code_used")} · ${dayText(lang, of.code.used_ms)}`
    : of.code.ends_ms < Date.now() ? t("code_ended") : `${t("code_waits")} ${dayText(lang, of.code.ends_ms)}`;
  return <li class="leaf person">
    {changing ? <form class="bar" onSubmit={(event) => {
      event.preventDefault();
      void act(async () => { await send("PATCH", `people/${of.id}`, { label: label.trim(), note, revision: of.revision }); setChanging(false); await props.changed(); });
    }}>
      <label>{t("label")}<input type="text" dir="auto" required pattern=".*\S.*" maxLength={60} value={label} onInput={(event) => setLabel(event.currentTarget.value)} /></label>
      <label>{t("note")}<input type="text" dir="auto" maxLength={500} value={note} onInput={(event) => setNote(event.currentTarget.value)} /></label>
      <button type="submit">{t("keep")}</button>
      <button type="button" class="quiet" onClick={() => setChanging(false)}>{t("cancel")}</button>
    </form> : <>
      <h2><bdi>{of.label}</bdi> {of.role === "assistant" && <span class="faint">{t("assistant")}</span>}</h2>
      {of.note && <p class="faint" dir="auto">{of.note}</p>}</>}
    <dl class="facts">
      {of.role === "learner" && <div><dt>{t("consent")}</dt><dd class={agreed ? undefined : "wanting"}>{consent}</dd></div>}
      <div><dt>{t("code")}</dt><dd>{code}</dd></div>
      {of.role === "learner" && <div><dt>{t("voice")}</dt><dd>{of.voice ? t("voice_known") : t("voice_new")}</dd></div>}
    </dl>
    <Trouble of={trouble} />
    {teaching && <p class="moves">
      <button type="button" class="quiet" disabled={props.busy} aria-label={`${t(of.code ? "new_code" : "make_code")}: ${of.label}`} onClick={props.makeCode}>{t(of.code ? "new_code" : "make_code")}</button>
      <button type="button" class="quiet" disabled={props.busy} aria-label={`${t("card")}: ${of.label}`} onClick={props.makeCard}>{t("card")}</button>
      {of.code && !of.code.used_ms && <button type="button" class="quiet" aria-label={`${t("revoke_code")}: ${of.label}`}
        onClick={() => void act(async () => { await send("DELETE", `people/${of.id}/code`); await props.changed(); })}>{t("revoke_code")}</button>}
      {of.role === "learner" && (agreed
        ? <button type="button" class="quiet" aria-label={`${t("withdraw_it")}: ${of.label}`} onClick={() => {
            if (confirm(t("withdraw_sure"))) void act(async () => { await send("DELETE", `people/${of.id}/consent`); await props.changed(); });
          }}>{t("withdraw_it")}</button>
        : <button type="button" class="quiet" aria-label={`${t("record_paper")}: ${of.label}`}
            onClick={() => void act(async () => { await send("POST", `people/${of.id}/consent`, { by: "paper" }); await props.changed(); })}>{t("record_paper")}</button>)}
      {of.role === "learner" && <Go to={`/progress/${props.now.id}/${of.id}`}>{t("progress_of")}</Go>}
      <button type="button" class="quiet" aria-label={`${t("change")}: ${of.label}`} onClick={() => setChanging(true)}>{t("change")}</button>
      <button type="button" class="quiet" aria-label={`${t("remove")}: ${of.label}`} onClick={() => {
        if (confirm(`${t("remove_person_sure")} ${of.label}`)) void act(async () => props.gone(await send<Receipt>("DELETE", `people/${of.id}`)));
      }}>{t("remove")}</button>
    </p>}
  </li>;
}

// What a receipt counts (docs/api.md), in words.
const tookWords = { recordings: "took_recordings", submissions: "took_submissions", measures: "took_measures", notes: "took_notes",
  hearings: "took_hearings", jobs: "took_jobs" } as const;

function ReceiptNote({ receipt, close }: { receipt: Receipt; close: (() => void) | null }) {
  const t = useWords(classWords);
  const { lang } = useDesk();
  const note = useRef<HTMLElement>(null);
  // Who was deleted takes their buttons along: the eye and the hand go on at the receipt.
  useEffect(() => { if (close) note.current?.focus(); }, [receipt.id]);
  return <section ref={note} class="leaf receipt" tabindex={close ? -1 : undefined} role={close ? "status" : undefined}>
    <h2>{t("receipt")} <span class="faint">{dayText(lang, receipt.made_ms)}</span></h2>
    <ul>{Object.entries(receipt.took).map(([what, count]) => <li key={what}>{t(tookWords[what as keyof typeof tookWords] ?? "took_rows")}: <bdi>{String(count)}</bdi></li>)}</ul>
    <p>{receipt.backups.length ? <>{t("receipt_backups")} <bdi>{receipt.backups.join(", ")}</bdi></> : t("receipt_none")}</p>
    {close && <button type="button" class="quiet" onClick={close}>{t("close")}</button>}
  </section>;
}

function Receipts({ fresh, lang }: { fresh: string; lang: string }) {
  const t = useWords(classWords);
  const [receipts, setReceipts] = useState<Receipt[]>([]);
  useEffect(() => { get<{ receipts: Receipt[] }>("receipts").then((found) => setReceipts(found.receipts), () => {}); }, [fresh, lang]);
  if (receipts.length === 0) return null;
  return <details class="receipts"><summary>{t("receipts")} ({receipts.length})</summary>
    {receipts.map((one) => <ReceiptNote key={one.id} receipt={one} close={null} />)}</details>;
}
