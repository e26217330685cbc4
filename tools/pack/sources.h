/*
 * The translations of npm's quran-json and whom they are owed to, as far as
 * its README ("Data Source") says.  Its package.json says CC BY 4.0, its
 * LICENSE CC BY-SA 4.0: the stricter is honoured.
 */
#ifndef PACK_SOURCES_H
#define PACK_SOURCES_H

#define TEXT_CREDITS                                                                               \
    "Text: Uthmani spelling, from The Noble Qur’an Encyclopedia by way of "                      \
    "quran-json, Risan Bagja Pradana, CC BY-SA 4.0 · Divisions: quran-meta, Huseyn Guliyev, MIT"

#define TANZIL(who)       who ", by way of tanzil.net; its own terms apply"
#define ENCYCLOPEDIA(who) who ", by way of The Noble Qur’an Encyclopedia; its own terms apply"

/* X(code, file in dist/, key of the words, title, right to left, credit) */
#define SOURCE_LIST(X)                                                                             \
    X("translit", "quran_transliteration.json", "transliteration", "Transliteration", 0,           \
      "Transliteration by way of tanzil.net; its own terms apply")                                 \
    X("en", "quran_en.json", "translation", "English", 0,                                          \
      TANZIL("English: Umm Muhammad (Saheeh International)"))                                      \
    X("bn", "quran_bn.json", "translation", "বাংলা", 0, TANZIL("Bengali: Muhiuddin Khan"))         \
    X("es", "quran_es.json", "translation", "Español", 0, TANZIL("Spanish: Muhammad Isa García"))  \
    X("fr", "quran_fr.json", "translation", "Français", 0, TANZIL("French: Muhammad Hamidullah"))  \
    X("id", "quran_id.json", "translation", "Bahasa Indonesia", 0,                                 \
      ENCYCLOPEDIA("Indonesian: Indonesian Islamic Affairs Ministry"))                             \
    X("ru", "quran_ru.json", "translation", "Русский", 0, TANZIL("Russian: Elmir Kuliev"))         \
    X("sv", "quran_sv.json", "translation", "Svenska", 0, TANZIL("Swedish: Knut Bernström"))       \
    X("tr", "quran_tr.json", "translation", "Türkçe", 0,                                           \
      TANZIL("Turkish: Turkish Directorate of Religious Affairs"))                                 \
    X("ur", "quran_ur.json", "translation", "اردو", 1, TANZIL("Urdu: Abul A’la Maududi"))          \
    X("zh", "quran_zh.json", "translation", "中文", 0, ENCYCLOPEDIA("Chinese: Muhammad Makin"))

#endif
