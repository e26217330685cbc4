// What the fields of a lesson and of a course are made of.
import type { ComponentChildren } from "preact";
import { useEffect, useId, useMemo, useRef, useState } from "preact/hooks";
import { address, drawn, once, type Ink, type Query, type Reading, type Rules } from "../api";
import { go, useAsked, useDesk } from "../desk";
import { Passage } from "../text/passage";
import type { Problem } from "./editor";
import { listOf } from "./file";

// What the server says of a line, beside the field that holds it. Lines count from 1 there.
export function Troubles(props: { of: Problem[]; id?: string; numbered?: boolean }) {
  const { t, in_lang } = useDesk();
  return <>{props.of.length > 0 && <ul class="troubles" id={props.id}>{props.of.map((one, n) =>
    <li key={n} class={one.advice ? "advice" : "trouble"}>
      {one.line !== null && <span class="faint">{t("problem_line")} {one.line}{one.advice ? ` · ${t("advice")}` : ""}: </span>}
      <span>{in_lang(one, "message")}</span></li>)}</ul>}</>;
}
export const at = (problems: Problem[], ...lines: number[]) =>
  problems.filter((one) => one.line !== null && lines.includes(one.line - 1));

// A field that shows what is typed while it is typed, and the file's value when that changes.
export function Field(props: {
  label: string; value: string; set: (value: string) => void; problems?: Problem[]; rows?: number; lang?: string;
  type?: "text" | "number" | "date"; hidden?: boolean; min?: number; max?: number; list?: string; plain?: boolean;
}) {
  const id = useId(), told = `${id}t`;
  const [typed, setTyped] = useState(props.value);
  const sent = useRef(props.value);
  useEffect(() => {
    if (props.value !== sent.current) { sent.current = props.value; setTyped(props.value); }
  }, [props.value]);
  const input = (value: string) => {
    setTyped(value);
    sent.current = props.rows ? value.split("\n").map((line) => line.trim()).join("\n").replace(/^\n+|\n+$/g, "") : value.replace(/\s*\n\s*/g, " ").trim();
    props.set(value);
  };
  const bad = props.problems?.some((one) => !one.advice);
  const shared = { id, value: typed, dir: "auto" as const, lang: props.lang, "aria-invalid": bad || undefined,
    "aria-describedby": props.problems?.length ? told : undefined };
  return <div class={props.plain ? "field plain" : "field"}>
    <label for={id} class={props.hidden ? "unseen" : undefined}>{props.label}</label>
    {props.rows
      ? <textarea {...shared} rows={props.rows} onInput={(event) => input(event.currentTarget.value)} />
      : <input {...shared} type={props.type ?? "text"} min={props.min} max={props.max} list={props.list}
          onInput={(event) => input(event.currentTarget.value)} />}
    {props.problems && <Troubles of={props.problems} id={told} />}
  </div>;
}

export function Choice(props: { label: string; value: string; choices: [string, string][]; set: (value: string) => void; hidden?: boolean }) {
  const id = useId();
  return <div class="field">
    <label for={id} class={props.hidden ? "unseen" : undefined}>{props.label}</label>
    <select id={id} value={props.value} onChange={(event) => props.set(event.currentTarget.value)}>
      {!props.choices.some(([value]) => value === props.value) && <option value={props.value}>{props.value}</option>}
      {props.choices.map(([value, name]) => <option key={value} value={value}>{name}</option>)}
    </select>
  </div>;
}

export function useRules(): Rules | null {
  const [rules, setRules] = useState<Rules | null>(null);
  useEffect(() => { once<Rules>("rules").then(setRules, () => {}); }, []);
  return rules;
}
// The name of a rule or of a family, as a file names them.
export function useRuleName(rules: Rules | null): (id: string) => string {
  const { in_lang } = useDesk();
  return (id) => {
    const thing = rules?.rules.find((one) => one.rule === id) ?? rules?.families.find((one) => one.family === id);
    return thing ? in_lang(thing, "name") : id;
  };
}
export function RuleOptions({ rules, without }: { rules: Rules; without?: string[] }) {
  const { in_lang } = useDesk();
  return <>{rules.families.map((family) => {
    const of = rules.rules.filter((one) => one.family === family.family && !without?.includes(one.rule));
    return of.length > 0 && <optgroup key={family.family} label={in_lang(family, "name")}>
      {of.map((one) => <option key={one.rule} value={one.rule}>{in_lang(one, "name")}</option>)}</optgroup>;
  })}</>;
}

// Some rules, in the file's order: each can go, others can come.
export function RuleList(props: { label: string; value: string; set: (value: string) => void; rules: Rules | null; problems?: Problem[] }) {
  const { t } = useDesk();
  const { rules } = props, name = useRuleName(rules), chosen = listOf(props.value), id = useId();
  const family = (one: string) => rules?.rules.find((rule) => rule.rule === one)?.family ?? one;
  return <div class="field" role="group" aria-labelledby={id}>
    <span class="label" id={id}>{props.label}</span>
    <ul class="chips">{chosen.map((one, n) => <li key={one + n} class="chip" style={{ borderColor: `var(--ink-${family(one)})` }}>
      {name(one)}
      <button type="button" class="quiet" aria-label={`${t("remove")}: ${name(one)}`}
        onClick={() => props.set(chosen.filter((_, k) => k !== n).join(", "))}>×</button></li>)}
      <li>{rules && <select class="adds" aria-label={`${props.label}: ${t("add_rule")}`} value="" onChange={(event) => {
        const more = event.currentTarget.value;
        event.currentTarget.value = "";
        if (more) props.set([...chosen, more].join(", "));
      }}><option value="">{t("add_rule")}</option><RuleOptions rules={rules} without={chosen} /></select>}</li>
    </ul>
    {props.problems && <Troubles of={props.problems} />}
  </div>;
}

// A range as it is read, with the marks of these rules and no others; with toggleStop, to set stops.
export function Marked(props: { passage: string; how: Query; taught: string[]; rules: Rules | null; stops?: (list: string) => void }) {
  const { lang } = useDesk();
  const box = useRef<HTMLDivElement>(null);
  const [seen, setSeen] = useState(false);
  // What is in sight comes first, the rest (for printing, too) after a while: a lesson may have many.
  useEffect(() => {
    const watch = new IntersectionObserver((seen) => { if (seen.some((one) => one.isIntersecting)) setSeen(true); }, { rootMargin: "300px" });
    if (box.current) watch.observe(box.current);
    const later = setTimeout(() => setSeen(true), 1200);
    return () => { watch.disconnect(); clearTimeout(later); };
  }, []);
  // Half-typed ranges are not asked about.
  const [passage, setPassage] = useState(props.passage);
  useEffect(() => {
    const timer = setTimeout(() => setPassage(props.passage), 300);
    return () => clearTimeout(timer);
  }, [props.passage]);
  const path = address("reading", drawn({ passage, ...props.how, lang })).slice("/api/".length);
  const reading = useAsked<Reading | null>(seen && passage ? path : null, () => once<Reading>(path).catch(() => null));
  const ink = useAsked<Ink | null>(reading.value ? passage : null, () => once<Ink>(address("ink", { passage }).slice("/api/".length)).catch(() => null));
  const shown = useMemo(() => {
    const ids = new Set(props.rules?.rules.filter((one) => props.taught.includes(one.rule) || props.taught.includes(one.family)).map((one) => one.rule));
    return (rule: string) => ids.has(rule);
  }, [props.taught.join(), props.rules]);
  const now = reading.value;
  const toggle = props.stops && now ? (word: number) => {
    const { words } = now;
    const list = words.filter((one, n) => n + 1 < words.length && (one.seam === "stop") !== (n === word)).map((one) => one.at);
    props.stops!(list.length ? list.join(",") : "none");
  } : undefined;
  const open = (chosen: unknown) => { if (chosen) go(`/text/${passage}${address("", props.how).slice("/api/".length)}`); };
  return <div class="marked" ref={box}>
    {now && props.rules && <Passage small reading={now} ink={ink.value} rules={props.rules} shown={shown} chosen={null} choose={open}
      {...(toggle ? { toggleStop: toggle } : {})} />}
  </div>;
}

// A list whose items change places by buttons, by dragging, and with Alt and the arrows.
export function Ordered(props: { items: { key: string; name: string; body: ComponentChildren; problems?: Problem[] }[];
  move: (from: number, to: number) => void; drop: (n: number) => void; class?: string }) {
  const { t } = useDesk();
  const list = useRef<HTMLOListElement>(null);
  const [held, setHeld] = useState<number | null>(null);
  const [over, setOver] = useState<number | null>(null);
  const move = (from: number, to: number) => {
    if (to < 0 || to >= props.items.length || from === to) return;
    const field = document.activeElement?.closest(".ordered > li") ? document.activeElement : null;
    const part = field?.getAttribute("data-part");
    props.move(from, to);
    if (part) requestAnimationFrame(() => {
      const row = list.current?.children[to];
      const again = row?.querySelector<HTMLElement>(`[data-part="${part}"]:not(:disabled)`) ?? row?.querySelector<HTMLElement>("[data-part]:not(:disabled)");
      again?.focus();
    });
  };
  return <ol class={`ordered ${props.class ?? ""}`} ref={list}>{props.items.map((item, n) =>
    <li key={item.key} class={over === n && held !== null && held !== n ? held < n ? "after" : "before" : undefined}
      onDragOver={(event) => { if (held !== null) { event.preventDefault(); setOver(n); } }}
      onDrop={(event) => { event.preventDefault(); if (held !== null) move(held, n); setHeld(null); setOver(null); }}
      onKeyDown={(event) => {
        if (!event.altKey || (event.key !== "ArrowUp" && event.key !== "ArrowDown")) return;
        event.preventDefault();
        move(n, event.key === "ArrowUp" ? n - 1 : n + 1);
      }}>
      <span class="grip" draggable aria-hidden="true" title={t("drag_it")}
        onDragStart={(event) => { event.dataTransfer!.setData("text/plain", item.name); event.dataTransfer!.effectAllowed = "move"; setHeld(n); }}
        onDragEnd={() => { setHeld(null); setOver(null); }}>{n + 1}</span>
      <div class="body">{item.body}{item.problems && <Troubles of={item.problems} />}</div>
      <span class="moves">
        <button type="button" class="quiet" data-part="up" disabled={n === 0} aria-label={`${t("move_up")}: ${item.name}`} title={t("move_up")} onClick={() => move(n, n - 1)}>↑</button>
        <button type="button" class="quiet" data-part="down" disabled={n + 1 === props.items.length} aria-label={`${t("move_down")}: ${item.name}`} title={t("move_down")} onClick={() => move(n, n + 1)}>↓</button>
        <button type="button" class="quiet" aria-label={`${t("remove")}: ${item.name}`} title={t("remove")} onClick={() => props.drop(n)}>×</button>
      </span>
    </li>)}</ol>;
}
