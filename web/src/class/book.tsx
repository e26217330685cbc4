// The class book: who is in the class, what is given out, what came another way, and its terms.
import { useEffect, useState } from "preact/hooks";
import { send } from "../api";
import { go, remember, useDesk, useWords, type Place } from "../desk";
import { About } from "./about";
import { Assignments } from "./assignments";
import { ClassPicker, classNow, Go, Trouble, useAct, useClasses, useTeaching } from "./choose";
import { Imports } from "./imports";
import { People } from "./people";
import type { Class } from "./types";
import { classWords } from "./words";

const sections = ["people", "assignments", "voice_notes", "about_class"] as const;

export function BookScreen({ place }: { place: Place }) {
  const t = useWords(classWords);
  const teaching = useTeaching();
  const { classes, trouble, load } = useClasses();
  const now = classes ? classNow(classes, place.path[1]) : undefined;
  const section = sections.find((one) => one === place.path[2]) ?? "people";
  useEffect(() => { if (now) remember("class", now.id); }, [now?.id]);
  if (!classes) return <p role={trouble ? "alert" : "status"}>{trouble || "…"}</p>;
  if (!now && classes.length > 0) return <Gone classes={classes} />;
  if (!now) return <Begin teaching={teaching} made={async (one) => { remember("class", one.id); await load(); go(`/class/${one.id}`); }} />;
  return <div class="class-book">
    <div class="class-head">
      <h1><bdi>{now.name}</bdi></h1>
      <ClassPicker classes={classes} now={now} to="class" />
      {teaching && <details class="another"><summary>{t("new_class")}</summary>
        <NewClass made={async (one) => { remember("class", one.id); await load(); go(`/class/${one.id}`); }} /></details>}
    </div>
    <nav class="tabs" aria-label={t("sections")}>{sections.filter((one) => teaching || one !== "about_class").map((one) =>
      <Go key={one} to={`/class/${now.id}/${one}`} current={one === section}>{t(one)}</Go>)}</nav>
    {section === "people" && <People key={now.id} now={now} teaching={teaching} />}
    {section === "assignments" && <Assignments key={now.id} now={now} teaching={teaching} query={place.query} />}
    {section === "voice_notes" && <Imports key={now.id} now={now} teaching={teaching} />}
    {section === "about_class" && <About key={`${now.id} ${now.revision}`} now={now} changed={load} gone={async () => { await load(); go("/class"); }} />}
  </div>;
}

// The address names a class that was deleted: there are others.
function Gone({ classes }: { classes: Class[] }) {
  const t = useWords(classWords);
  return <div class="class-book">
    <h1>{t("classes")}</h1>
    <p class="trouble">{t("class_gone")}</p>
    <ul>{classes.map((one) => <li key={one.id}><Go to={`/class/${one.id}`}><bdi>{one.name}</bdi></Go></li>)}</ul>
  </div>;
}

function Begin({ teaching, made }: { teaching: boolean; made: (one: Class) => void }) {
  const t = useWords(classWords);
  return <div class="class-book">
    <h1>{t("classes")}</h1>
    <p class="lead">{t("class_lead")}</p>
    <p class="faint">{t("no_class")}</p>
    {teaching ? <NewClass made={made} /> : <p>{t("only_teacher")}</p>}
  </div>;
}

function NewClass({ made }: { made: (one: Class) => void }) {
  const t = useWords(classWords);
  const { lang } = useDesk();
  const [name, setName] = useState("");
  const [language, setLanguage] = useState<string>(lang);
  const { act, trouble, busy } = useAct();
  return <form class="bar" aria-label={t("new_class")} onSubmit={(event) => {
    event.preventDefault();
    void act(async () => {
      if (!name.trim()) throw new Error(t("name_it"));
      made(await send<Class>("POST", "classes", { name: name.trim(), language }));
      setName("");
    });
  }}>
    <label>{t("class_name")}<input type="text" dir="auto" required maxLength={80} value={name} placeholder={t("class_hint")} onInput={(event) => setName(event.currentTarget.value)} /></label>
    <label>{t("language")}<select value={language} onChange={(event) => setLanguage(event.currentTarget.value)}>
      <option value="en">{t("english")}</option><option value="ar">{t("arabic")}</option></select></label>
    <button type="submit" disabled={busy}>{t("make_class")}</button>
    <Trouble of={trouble} />
  </form>;
}
