/* parts.h – what the files of the report share. */
#ifndef SPEECH_REPORT_PARTS_H
#define SPEECH_REPORT_PARTS_H

#include <mistara/report.h>

/* The file's name without its folders. */
const char *report_base_name(const char *path);
/* The passage heard, as a teacher writes it, and the takes' names with commas. */
void report_takes(const struct mst_report *r, struct mst_string *out);
/* "1:02.4" into the take. Returns out. */
char *report_clock(double ms, char out[24]);
/* The printed bytes of a word of the reading. */
/* The site's place as "67:1:3"; sura 0 is the seeking of refuge. Returns out. */
char *report_word_addr(struct mst_addr at, char out[48]);
/* Classes in the order they are shown; a class is shown when it has sites. */
int report_class_shown(const struct mst_measures *m, int length);

/* The sentences of text, pages and browser in both languages. %-arguments are the same in both. */
#define REPORT_PHRASE_LIST(X)                                                                                                                                      \
    X(TITLE, "Listening report", "تقرير استماع")                                                                                                                   \
    X(RECORDING, "The recording", "التسجيل")                                                                                                                       \
    X(RECORDING_WELL, "Nothing in the recording stands in the way.", "ليس في التسجيل ما يعيق.")                                                                    \
    X(HEARD, "What was heard", "ما سُمع")                                                                                                                           \
    X(ALL_WORDS, "%s: all %d words.", "⁨%s⁩: الكلمات كلها (%d).")                                                                                   \
    X(SOME_WORDS, "%s: %d of %d words.", "⁨%s⁩: %d من %d كلمة.")                                                                                         \
    X(LEFT_OUT, "Not heard: %s.", "لم يُسمع: %s.")                                                                                                                  \
    X(STOPS, "Stops: %d, after %s.", "الوقوف: %d، بعد %s.")                                                                                                        \
    X(AND_MORE, " and more", " وغيرها")                                                                                                                            \
    X(REFUGE, "the seeking of refuge", "الاستعاذة")                                                                                                                \
    X(BASMALA, "the basmala", "البسملة")                                                                                                                           \
    X(NO_STOPS, "No stop but the last.", "لا وقف إلا في الآخر.")                                                                                                   \
    X(AGAIN, "Taken up again: %s.", "أعيد: %s.")                                                                                                                   \
    X(PACE, "Pace: %.1f plain sounds a second%s.", "السرعة: %.1f حرفًا في الثانية%s.")                                                                              \
    X(QUICKENS, "; it quickens by %.0f %% towards the end", "، وتزيد في الآخر بنحو %.0f في المئة")                                                                 \
    X(SLACKENS, "; it slackens by %.0f %% towards the end", "، وتنقص في الآخر بنحو %.0f في المئة")                                                                 \
    X(STEADY, "; steady from beginning to end", "، ثابتة من الأول إلى الآخر")                                                                                      \
    X(MUNFASIL_2, "Parted lengthening is read the shortened way.", "المنفصل مقصور.")                                                                               \
    X(MUNFASIL_4, "Parted lengthening is read the lengthened way.", "المنفصل ممدود.")                                                                              \
    X(LITTLE,                                                                                                                                                      \
      "Little of the voice was heard (%.0f s): take lengths with care, or start from a voice "                                                                     \
      "learned before.",                                                                                                                                           \
      "المسموع من هذا الصوت قليل (%.0f ث)، فخذ المدد بحذر، أو ابدأ من صوت محفوظ.")                                                                                 \
    X(TOO_LITTLE,                                                                                                                                                  \
      "Too little of the voice was heard (%.0f s) to measure lengths by it; recite a minute or "                                                                   \
      "more, or start from a voice learned before.",                                                                                                               \
      "المسموع من هذا الصوت (%.0f ث) أقل من أن تقاس به المدد؛ اتلُ دقيقة أو أكثر، أو ابدأ من صوت " \
      "محفوظ.")                                                                                                                                                    \
    X(LENGTHS, "Lengths", "المدد")                                                                                                                                 \
    X(COUNT_IS, "One count of this reciter lasts about %.0f ms.",                                                                                                  \
      "الحركة الواحدة عند هذا القارئ نحو %.0f ملّي ثانية.")                                                                                                         \
    X(CLASS, "length", "المدّة")                                                                                                                                    \
    X(SITES, "sites", "مواضع")                                                                                                                                     \
    X(MIDDLE, "middle", "الوسط")                                                                                                                                   \
    X(COUNTS, "own counts", "بحركاته")                                                                                                                             \
    X(EVEN, "even hand", "التساوي")                                                                                                                                \
    X(MODEL, "model", "النموذج")                                                                                                                                   \
    X(BESIDE, "beside", "الآخر")                                                                                                                                   \
    X(FAULTS, "Words and sounds", "الكلمات والحروف")                                                                                                               \
    X(NO_FAULTS, "Of what can be told, nothing was heard otherwise than it should be.",                                                                            \
      "لم يُسمع مما يمكن الحكم عليه شيء على غير وجهه.")                                                                                                             \
    X(FINDINGS, "To listen to again", "ما يُعاد الاستماع إليه")                                                                                                     \
    X(NO_FINDINGS, "Nothing stands out from the lengths.", "لا شيء يبرز في المدد.")                                                                                \
    X(BY_MODEL, "Expected lengths are those of %s, brought to this pace.",                                                                                         \
      "المدد المنتظرة من ⁨%s⁩ بهذه السرعة.")                                                                                          \
    X(BY_SELF,                                                                                                                                                     \
      "Expected lengths are this reciter’s own middle: a class that is short throughout does not "                                                               \
      "show. Give the teacher’s take as --model to see that.",                                                                                                     \
      "المدد المنتظرة من وسط القارئ نفسه، فالقِصر العامّ لا يظهر. أعطِ تلاوة المعلّم بـ "        \
      "⁨--model⁩ "                                                                                                                                             \
      "ليظهر.")                                                                                                                                                    \
    X(SIDE_BY_SIDE, "Side by side", "جنبًا إلى جنب")                                                                                                                \
    X(FASTER, "%s is read %.0f %% faster than %s.",                                                                                                                \
      "⁨%s⁩ أسرع بنحو %.0f في المئة من ⁨%s⁩.")                                                                                            \
    X(SLOWER, "%s is read %.0f %% slower than %s.",                                                                                                                \
      "⁨%s⁩ أبطأ بنحو %.0f في المئة من ⁨%s⁩.")                                                                                            \
    X(MATCHED, "%d sites lie in both; pace is taken out of the ratios.",                                                                                           \
      "المواضع المشتركة %d، والنسب بعد إخراج السرعة.")                                                                                                             \
    X(RATIO, "second : first", "الثاني إلى الأول")                                                                                                                 \
    X(FARTHEST, "Farthest apart: %s", "أبعدها: %s")                                                                                                                \
    X(TIMELINE, "The take, line by line", "التلاوة سطرًا سطرًا")                                                                                                     \
    X(RULER_KEY,                                                                                                                                                   \
      "Under the sounds: what was measured, and in grey what was expected; a tick ends a count, "                                                                  \
      "the number is the measured one.",                                                                                                                           \
      "تحت الأصوات: المقيس، وبالرمادي المنتظر؛ كل شرطة تنهي حركة، والعدد هو المقيس.")                                                                              \
    X(RULER_BESIDE, " In black below: the second take, pace taken out.",                                                                                           \
      " وبالأسود تحته: التلاوة الثانية بعد إخراج السرعة.")                                                                                                         \
    X(STRIP_KEY,                                                                                                                                                   \
      "Each dot is a place, the bar their middle, the band 25 % around it, the diamond the "                                                                       \
      "model’s middle. Under the name: places, middle, in own counts, share within the band.",                                                                     \
      "كل نقطة موضع، والخط وسطها، والشريط ربع حوله، والمعيّن وسط النموذج. تحت الاسم: العدد، " \
      "الوسط، بحركات القارئ، وما يقع في الشريط.")                                                                                                                  \
    X(STRIP_BESIDE, "Rings below: %s.", "الحلقات تحتها: ⁨%s⁩.")                                                                                    \
    X(MEASURED, "measured", "المقيس")                                                                                                                              \
    X(EXPECTED, "expected", "المنتظر")

enum report_phrase {
#define X(name, en, ar) SAY_##name,
    REPORT_PHRASE_LIST(X)
#undef X
        SAY_COUNT
};
const char *report_say(enum report_phrase phrase, enum mst_lang lang);
/* The phrase with its arguments, which differ from phrase to phrase. */
void report_say_with(struct mst_string *out, enum mst_lang lang, enum report_phrase phrase, ...);

/* The paragraphs of the report, in the order they are shown. */
struct report_part {
    char *title;
    char **lines; /* sentences */
    size_t line_count;
};
/* Sentences for each part; in the arena. NULL when memory ran out. */
struct report_part *report_recording(const struct mst_report *r, struct mst_arena *arena);
struct report_part *report_heard(const struct mst_report *r, struct mst_arena *arena);
struct report_part *report_findings(const struct mst_report *r, struct mst_arena *arena);
struct report_part *report_faults(const struct mst_report *r, struct mst_arena *arena);
struct report_part *report_side_by_side(const struct mst_report *r, struct mst_arena *arena);
/* The words first…last as they are printed, a few of them; nothing for those of a basmala that the
 * text does not number. */
void report_scripture(const struct mst_report *r, struct mst_addr first, struct mst_addr last,
                      struct mst_string *out);
/* Where the expected lengths come from. */
void report_basis(const struct mst_report *r, struct mst_string *out);

#endif
