// Voice notes that came another way: the ear proposes whose they are and what they recite, one key
// confirms.
import { useEffect, useRef, useState } from "preact/hooks";
import { address, get, send } from "../api";
import { useAsked, useDesk, useWords } from "../desk";
import { clock } from "../takes/types";
import { told } from "../told";
import { Trouble, useAct } from "./choose";
import { usePeople } from "./people";
import type { Class, Given, Import } from "./types";
import { sureness } from "./sureness";
import { classWords } from "./words";

const look_ms = 10_000;
interface Choice { person: string; passage: string; assignment: string }

export function Imports({ now, teaching }: { now: Class; teaching: boolean }) {
  const t = useWords(classWords), { in_lang } = useDesk();
  const { people, load: loadPeople } = usePeople(now.id);
  const given = useAsked<{ assignments: Given[] }>(now.id, (signal) => get(`classes/${now.id}/assignments`, {}, signal)).value?.assignments.filter((one) => !one.withdrawn_ms) ?? [];
  const [imports, setImports] = useState<Import[] | null>(null);
  const [sending, setSending] = useState<string[]>([]);
  const [refused, setRefused] = useState<{ name: string; why: string }[]>([]);
  const [over, setOver] = useState(false);
  const [choices, setChoices] = useState<Record<string, Choice>>({});
  const [at, setAt] = useState<string | null>(null);
  const [said, setSaid] = useState("");
  const { act, trouble } = useAct();
  const list = useRef<HTMLOListElement>(null), player = useRef<HTMLAudioElement>(null);
  const load = () => get<{ imports: Import[] }>(`classes/${now.id}/imports`).then((found) => setImports(found.imports), () => {});
  useEffect(() => {
    void load();
    const timer = setInterval(() => { if (document.visibilityState === "visible") void load(); }, look_ms);
    const hush = told({ submission: () => void load(), hello: () => void load() });
    return () => { clearInterval(timer); hush(); };
  }, [now.id]);
  if (!teaching) return <p>{t("only_teacher")}</p>;
  const learners = people?.filter((one) => one.role === "learner" && !one.left_ms) ?? [];
  const choiceOf = (one: Import): Choice => choices[one.id] ?? {
    person: one.proposal?.person ?? "", passage: one.proposal?.passage ?? "", assignment: one.proposal?.assignment ?? "" };
  const take = async (files: File[]) => {
    setRefused([]);
    setSending(files.map((file) => file.name));
    for (const file of files) {
      try { await send("POST", `classes/${now.id}/imports`, file, { name: file.name }); }
      catch (error) { setRefused((all) => [...all, { name: file.name, why: (error as Error).message }]); }
      setSending((names) => names.slice(1));
      await load();
    }
  };
  const focusNear = (n: number) => requestAnimationFrame(() => {
    const rows = list.current?.querySelectorAll<HTMLElement>(":scope > li");
    if (rows?.length) rows[Math.max(0, Math.min(rows.length - 1, n))]!.focus();
  });
  const confirmOne = (one: Import, n: number) => {
    const choice = choiceOf(one), who = learners.find((person) => person.id === choice.person);
    if (!who?.consent?.holds || !choice.passage) return;
    void act(async () => {
      await send("POST", `imports/${one.id}/confirm`, { person: choice.person, passage: choice.passage, assignment: choice.assignment || null });
      setImports((all) => all?.filter((other) => other.id !== one.id) ?? null);
      setSaid(`${t("confirmed")} ${who.label}, ${choice.passage}`);
      focusNear(n);
    });
  };
  const drop = (one: Import, n: number) => {
    if (!confirm(t("throw_sure"))) return;
    void act(async () => {
      await send("DELETE", `submissions/${one.id}`);
      setImports((all) => all?.filter((other) => other.id !== one.id) ?? null);
      focusNear(n);
    });
  };
  const play = (one: Import) => {
    const audio = player.current!;
    if (at === one.id && !audio.paused) { audio.pause(); return; }
    setAt(one.id);
    audio.src = address(`submissions/${one.id}/audio`);
    void audio.play().catch(() => {});
  };
  const keys = (event: KeyboardEvent, one: Import, n: number) => {
    // In a field its own keys hold.
    if (event.target !== event.currentTarget) {
      if (event.key === "Enter" && (event.target as HTMLElement).matches("input")) { event.preventDefault(); confirmOne(one, n); }
      return;
    }
    const does: Record<string, () => void> = { Enter: () => confirmOne(one, n), " ": () => play(one), Delete: () => drop(one, n),
      ArrowDown: () => focusNear(n + 1), ArrowUp: () => focusNear(n - 1), j: () => focusNear(n + 1), k: () => focusNear(n - 1) };
    if (!does[event.key] || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    does[event.key]!();
  };
  // How sure the ear is goes for whose it is; of the passage it only says which.
  const proposed = (one: Import) => one.proposal?.person ? `${t("proposed")}: ${t(sureness(one.proposal.sureness))}`
    : one.proposal?.passage ? `${t("proposed")}: ${one.proposal.passage}` : t("no_proposal");
  const set = (one: Import, what: Partial<Choice>) => setChoices((all) => ({ ...all, [one.id]: { ...choiceOf(one), ...what } }));
  return <section aria-label={t("voice_notes")}>
    <p class="lead">{t("import_lead")}</p>
    <div class={over ? "drop over" : "drop"} onDragOver={(event) => { event.preventDefault(); setOver(true); }} onDragLeave={() => setOver(false)}
      onDrop={(event) => { event.preventDefault(); setOver(false); void take([...(event.dataTransfer?.files ?? [])]); }}>
      <label>{t("import_files")}<input type="file" multiple accept="audio/*,video/*" disabled={sending.length > 0} onChange={(event) => {
        void take([...(event.currentTarget.files ?? [])]);
        event.currentTarget.value = "";
      }} /></label>
      <span class="faint">{t("import_drop")}</span>
    </div>
    <p role="status">{sending.length > 0 ? <>{t("importing")}: <bdi>{sending[0]}</bdi> (+{sending.length - 1})</> : said}</p>
    {refused.map((one, n) => <p key={n} class="trouble" role="alert"><bdi>{one.name}</bdi>: {t("import_refused")} – <bdi>{one.why}</bdi></p>)}
    <Trouble of={trouble} />
    {imports?.length === 0 && <p class="faint">{t("import_none")}</p>}
    <audio ref={player} class="unseen" onEnded={() => setAt(null)} />
    <ol class="imports" ref={list}>{imports?.map((one, n) => {
      const choice = choiceOf(one), who = learners.find((person) => person.id === choice.person), agreed = !!who?.consent?.holds;
      const ready = agreed && !!choice.passage, waiting = !one.proposal && !one.problem && one.state !== "refused" && one.state !== "heard";
      return <li key={one.id} class="leaf" tabindex={0} aria-label={`${one.name}: ${one.proposal?.label ?? t(waiting ? "listening_now" : "no_proposal")}, ${choice.passage}`}
        onKeyDown={(event) => keys(event, one, n)}>
        <div><b><bdi>{one.name}</bdi></b> <span class="faint"><bdi>{clock(one.seconds)}</bdi> · {waiting ? t("listening_now")
          : proposed(one)}</span>
          {one.problem && <p class="trouble">{in_lang(one, "problem")}</p>}</div>
        <label>{t("who")}<select value={choice.person} onChange={(event) => set(one, { person: event.currentTarget.value })}>
          <option value="">{t("choose_one")}</option>
          {learners.map((person) => <option key={person.id} value={person.id}>{person.label}</option>)}</select></label>
        <label>{t("which_work")}<select value={choice.assignment} onChange={(event) => {
          const work = given.find((other) => other.id === event.currentTarget.value);
          set(one, { assignment: event.currentTarget.value, ...(work ? { passage: work.passage } : {}) });
        }}><option value="">{t("other_work")}</option>
          {given.map((work) => <option key={work.id} value={work.id}>{work.title || work.passage}</option>)}</select></label>
        <label>{t("passage")}<input type="text" dir="auto" value={choice.passage} onInput={(event) => set(one, { passage: event.currentTarget.value, assignment: "" })} /></label>
        {who && !agreed && <p class="trouble"><bdi>{who.label}</bdi> {t("not_agreed")} <button type="button" class="quiet"
          onClick={() => void act(async () => { await send("POST", `people/${who.id}/consent`, { by: "paper" }); await loadPeople(); })}>{t("record_paper")}</button></p>}
        <p class="moves">
          <button type="button" disabled={!ready} onClick={() => confirmOne(one, n)}>{t("confirm")} <kbd aria-hidden="true">Enter</kbd></button>
          <button type="button" class="quiet" aria-pressed={at === one.id} aria-label={`${t("play_it")}: ${one.name}`} onClick={() => play(one)}>{t("play_it")}</button>
          <button type="button" class="quiet" aria-label={`${t("throw_away")}: ${one.name}`} onClick={() => drop(one, n)}>{t("throw_away")}</button></p>
      </li>;
    })}</ol>
    <p class="note keys">{t("import_keys")}</p>
  </section>;
}
