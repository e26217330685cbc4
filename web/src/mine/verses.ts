// What a verse is called: by its number; in a passage over more than one sura by the sura as well.
import { useEffect, useState } from "preact/hooks";
import { once, type Sura } from "../api";
import { useDesk } from "../desk";
import { verseNumber } from "./types";

export function useVerseName(verses: string[]): (verse: string) => string {
  const { lang } = useDesk();
  const [suras, setSuras] = useState<Sura[]>([]);
  const several = new Set(verses.map((verse) => verse.split(":")[0])).size > 1;
  useEffect(() => { if (several) once<{ suras: Sura[] }>("suras").then((found) => setSuras(found.suras), () => {}); }, [several]);
  return (verse) => {
    if (!several) return verseNumber(verse);
    const sura = suras.find((one) => one.sura === Number(verse.split(":")[0]));
    return sura ? `${lang === "ar" ? sura.name_ar : sura.name} ${verseNumber(verse)}` : verse;
  };
}
