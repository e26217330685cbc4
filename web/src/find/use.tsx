// A find put into a lesson: one that is there, or a new one.
import { useState } from "preact/hooks";
import { get, Refusal, send } from "../api";
import { go, useDesk } from "../desk";
import { addRow, addSection } from "../lesson/file";

interface Entry { id: string; title: string }
interface Kept { id: string; text: string; revision: number }
const fresh = "new";

export function UseInLesson(props: { passage: string; rule: string; as: "examples" | "passage" }) {
  const { t } = useDesk();
  const [lessons, setLessons] = useState<Entry[] | null>(null);
  const [used, setUsed] = useState<string | null>(null);
  const [trouble, setTrouble] = useState("");
  const act = (doing: () => Promise<unknown>) => { setTrouble(""); doing().catch((error: Error) => setTrouble(error.message)); };
  const into = (text: string) => props.as === "examples" ? addRow(text, "examples", props.passage)
    : addSection(text, "passage", [`range: ${props.passage}`, "stops: verses", "fade: evenly"]);
  const use = async (id: string) => {
    if (id === fresh) {
      const made = await send<Kept>("POST", "lessons", { text: into(`mistara lesson 1\n\ntitle: ${t("new_lesson")}\nrules: ${props.rule}\n`) });
      setUsed(made.id);
      return;
    }
    // Somebody may save in between: then once more upon what they saved.
    for (let turn = 0; ; turn++) {
      const lesson = await get<Kept>(`lessons/${id}`);
      try {
        await send("PUT", `lessons/${id}`, { text: into(lesson.text), revision: lesson.revision });
        break;
      } catch (error) {
        if (!(error instanceof Refusal) || error.status !== 409 || turn === 2) throw error;
      }
    }
    setUsed(id);
  };
  const open = (id: string) => (event: Event) => { event.preventDefault(); go(`/lessons/${id}`); };
  return <div class="use-in">
    {used ? <a href={`/lessons/${used}`} onClick={open(used)}>{t("used_in")}</a>
      : lessons ? <label>{t("use_in")}<select value="" onChange={(event) => { const id = event.currentTarget.value; if (id) act(() => use(id)); }}>
          <option value="" /><option value={fresh}>{t("use_in_new")}</option>
          {lessons.map((one) => <option key={one.id} value={one.id}>{one.title || t("untitled")}</option>)}</select></label>
        : <button type="button" class="quiet" aria-label={`${t("use_in")}: ${props.passage}`}
            onClick={() => act(async () => setLessons((await get<{ lessons: Entry[] }>("lessons")).lessons))}>{t("use_in")}</button>}
    {trouble && <p class="trouble" role="alert">{trouble}</p>}
  </div>;
}
