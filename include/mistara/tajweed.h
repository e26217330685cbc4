/*
 * mistara/tajweed.h – the engine: a reading (a passage, where the reader
 * stops, and which of the allowed ways are taken) becomes letters, sites and
 * sounds. This is the only place that knows a rule of recitation; everything
 * else in Mistara consumes the three lists below.
 *
 * Transmission: Ḥafṣ from ʿĀṣim by way of al-Shāṭibiyya. Sources named beside
 * the tables in src/tajweed: al-Jamzūrī, Tuḥfat al-aṭfāl; Ibn al-Jazarī,
 * al-Muqaddima; al-Dānī, al-Taysīr; al-Shāṭibī, Ḥirz al-amānī; the marks of
 * the print itself. What comes from memory says so there.
 *
 * The engine never reads the marks by which the print already spells a rule
 * out (sukūn, open or closed tanwīn, small mīm, maddah save on أ, the zeros,
 * the shadda that merging puts on the next letter): it derives them.
 *
 * Ownership: a reading and all its arrays live in the caller's arena.
 * Threads: a finished reading is read-only. Time: linear in the letters.
 */
#ifndef MISTARA_TAJWEED_H
#define MISTARA_TAJWEED_H

#include <mistara/text.h>

#ifdef __cplusplus
extern "C" {
#endif

/* How a family is drawn and grouped (notation: docs/notation.md). */
enum mst_family {
    MST_FAMILY_LENGTH, /* lengthening */
    MST_FAMILY_NASAL,  /* nasal hold */
    MST_FAMILY_MERGE,  /* merging, with or without nasal hold */
    MST_FAMILY_TURN,   /* turning and lip hiding */
    MST_FAMILY_HIDE,   /* hiding */
    MST_FAMILY_CLEAR,  /* clear */
    MST_FAMILY_ECHO,   /* echo */
    MST_FAMILY_WEIGHT, /* heavy and light */
    MST_FAMILY_SILENT, /* letters written, not sounded; joining hamza; dropped length */
    MST_FAMILY_SEAM,   /* what stopping, starting and joining do */
    MST_FAMILY_OWN,    /* words of their own */
    MST_FAMILY_COUNT
};

/* X(enum, id, Arabic, English, family) */
#define MST_RULE_LIST(X)                                                                           \
    /* vowelless nūn and tanwīn */                                                               \
    X(IZHAR_HALQI, "izhar_halqi", "إظهار حلقي", "clear nūn (throat)", CLEAR)                       \
    X(IDGHAM_GHUNNA, "idgham_ghunna", "إدغام بغنة", "merging with ghunna", MERGE)                  \
    X(IDGHAM_BILA_GHUNNA, "idgham_bila_ghunna", "إدغام بلا غنة", "merging without ghunna", MERGE)  \
    X(IQLAB, "iqlab", "إقلاب", "turning", TURN)                                                    \
    X(IKHFA, "ikhfa", "إخفاء", "hiding", HIDE)                                                     \
    X(IZHAR_MUTLAQ, "izhar_mutlaq", "إظهار مطلق", "clear nūn (absolute)", CLEAR)                   \
    X(TANWIN_KASRA, "tanwin_kasra", "كسر التنوين", "tanwīn given kasra", SEAM)                     \
    /* vowelless mīm, doubled nūn and mīm */                                                    \
    X(IKHFA_SHAFAWI, "ikhfa_shafawi", "إخفاء شفوي", "lip hiding", TURN)                            \
    X(IDGHAM_SHAFAWI, "idgham_shafawi", "إدغام شفوي", "mīm merging", MERGE)                        \
    X(IZHAR_SHAFAWI, "izhar_shafawi", "إظهار شفوي", "clear mīm", CLEAR)                            \
    X(GHUNNA, "ghunna", "غنة", "ghunna of doubled nūn and mīm", NASAL)                             \
    /* merging of other letters */                                                                 \
    X(IDGHAM_MITHLAYN, "idgham_mithlayn", "إدغام متماثلين", "merging of equals", MERGE)            \
    X(IDGHAM_MUTAJANISAYN, "idgham_mutajanisayn", "إدغام متجانسين", "merging of kin", MERGE)       \
    X(IDGHAM_MUTAQARIBAYN, "idgham_mutaqaribayn", "إدغام متقاربين", "merging of neighbours",       \
      MERGE)                                                                                       \
    X(LAM_SHAMSIYYA, "lam_shamsiyya", "لام شمسية", "article lām merging", MERGE)                   \
    X(LAM_QAMARIYYA, "lam_qamariyya", "لام قمرية", "article lām clear", CLEAR)                     \
    /* echo */                                                                                     \
    X(QALQALA, "qalqala", "قلقلة", "echo", ECHO)                                                   \
    /* lengthening */                                                                              \
    X(MADD_TABII, "madd_tabii", "مد طبيعي", "natural lengthening", LENGTH)                         \
    X(MADD_BADAL, "madd_badal", "مد البدل", "lengthening after hamza", LENGTH)                     \
    X(MADD_IWAD, "madd_iwad", "مد العوض", "lengthening in place of tanwīn", LENGTH)                \
    X(MADD_SILA_SUGHRA, "madd_sila_sughra", "صلة صغرى", "lesser ṣila", LENGTH)                     \
    X(MADD_SILA_KUBRA, "madd_sila_kubra", "صلة كبرى", "greater ṣila", LENGTH)                      \
    X(MADD_TAMKIN, "madd_tamkin", "مد التمكين", "lengthening after doubled yāʾ", LENGTH)           \
    X(MADD_MUTTASIL, "madd_muttasil", "مد متصل", "joined lengthening", LENGTH)                     \
    X(MADD_MUNFASIL, "madd_munfasil", "مد منفصل", "parted lengthening", LENGTH)                    \
    X(MADD_LAZIM_WORD, "madd_lazim_word", "مد لازم كلمي", "binding lengthening in a word", LENGTH) \
    X(MADD_LAZIM_LETTER, "madd_lazim_letter", "مد لازم حرفي", "binding lengthening in a letter",   \
      LENGTH)                                                                                      \
    X(MADD_ARID, "madd_arid", "مد عارض للسكون", "lengthening before a stop", LENGTH)               \
    X(MADD_LIN, "madd_lin", "مد اللين", "soft lengthening", LENGTH)                                \
    X(HADHF_MADD, "hadhf_madd", "حذف المد", "lengthening dropped", SILENT)                         \
    /* heavy and light */                                                                          \
    X(TAFKHIM, "tafkhim", "تفخيم الاستعلاء", "heavy letter", WEIGHT)                               \
    X(TAFKHIM_ALIF, "tafkhim_alif", "تفخيم الألف", "heavy alif", WEIGHT)                           \
    X(TAFKHIM_RA, "tafkhim_ra", "تفخيم الراء", "heavy rāʾ", WEIGHT)                                \
    X(TARQIQ_RA, "tarqiq_ra", "ترقيق الراء", "light rāʾ", WEIGHT)                                  \
    X(TAFKHIM_LAM, "tafkhim_lam", "تفخيم لام الجلالة", "heavy lām of the Name", WEIGHT)            \
    X(TARQIQ_LAM, "tarqiq_lam", "ترقيق لام الجلالة", "light lām of the Name", WEIGHT)              \
    /* starting, stopping, joining */                                                              \
    X(HAMZAT_WASL, "hamzat_wasl", "همزة الوصل", "joining hamza", SILENT)                           \
    X(ILTIQA_SAKINAYN, "iltiqa_sakinayn", "التقاء الساكنين", "two vowelless letters meeting",      \
      SEAM)                                                                                        \
    X(WAQF_SUKUN, "waqf_sukun", "الوقف بالسكون", "stop without vowel", SEAM)                       \
    X(WAQF_HA, "waqf_ha", "الوقف بالهاء", "stop with hāʾ", SEAM)                                   \
    X(RAWM, "rawm", "روم", "rawm", SEAM)                                                           \
    X(ISHMAM, "ishmam", "إشمام", "ishmām", OWN)                                                    \
    X(SIFR_MUSTADIR, "sifr_mustadir", "صفر مستدير", "letter never sounded", SILENT)                \
    X(SIFR_MUSTATIL, "sifr_mustatil", "صفر مستطيل", "alif sounded only at a stop", SILENT)         \
    X(SAKT, "sakt", "سكت", "breathless pause", OWN)                                                \
    /* words of their own */                                                                       \
    X(IMALA, "imala", "إمالة", "imāla", OWN)                                                       \
    X(TASHIL, "tashil", "تسهيل", "easing of hamza", OWN)                                           \
    X(SAD_SIN, "sad_sin", "صاد وسين", "ṣād or sīn", OWN)                                           \
    X(FATH_DAMM, "fath_damm", "فتح وضم", "fatḥa or ḍamma", OWN)

enum mst_rule {
#define X(name, id, ar, en, family) MST_RULE_##name,
    MST_RULE_LIST(X)
#undef X
        MST_RULE_COUNT
};
const char *mst_rule_id(enum mst_rule rule);
const char *mst_rule_name(enum mst_rule rule, enum mst_lang lang);
enum mst_family mst_rule_family(enum mst_rule rule);
const char *mst_family_name(enum mst_family family, enum mst_lang lang);
/* What mouth, lips and nose do, one or two sentences; and the published source. */
const char *mst_rule_mouth(enum mst_rule rule, enum mst_lang lang);
const char *mst_rule_source(enum mst_rule rule);
const char *mst_rule_source_ar(enum mst_rule rule);
/* The same for drawings: what the mouth does at a rule, state by state. How a letter is changed: */
enum mst_mouth_how {
    MST_HOW_ITS_OWN, /* not at all */
    MST_HOW_NASAL,   /* the nose open */
    MST_HOW_HIDDEN,  /* drawn near to the letter's place, not touching it, held in the nose */
    MST_HOW_LIPS_LIGHT,
    MST_HOW_LET_GO, /* released with an echo */
    MST_HOW_HEAVY,  /* the back of the tongue raised */
    MST_HOW_LIGHT,
    MST_HOW_VOWEL, /* yāʾ and wāw as lengthened vowels */
    MST_HOW_ROUNDED,
    MST_HOW_TILTED, /* between ā and ī */
    MST_HOW_EASED   /* the glottis not closed */
};
struct mst_mouth_state {
    uint8_t rule, how;
    uint32_t letter;               /* code point as in mst_articulation */
    const char *name_en, *name_ar; /* NULL: the letter's own */
};
/* NULL with *count 0 where the mouth does nothing (letters not read, for instance). */
const struct mst_mouth_state *mst_rule_mouth_states(enum mst_rule rule, int *count);

/* And its acts one after the other; what happens at the same time is one stage. Returns how many, 0
 * where there is no order to speak of. */
enum { MST_MOUTH_STAGES_MOST = 4 };
struct mst_mouth_stage {
    const char *en, *ar;
};
int mst_rule_mouth_stages(enum mst_rule rule, struct mst_mouth_stage out[MST_MOUTH_STAGES_MOST]);

/* A set of rules. */
struct mst_rule_set {
    uint64_t bits;
};
static inline int mst_rule_set_has(struct mst_rule_set s, enum mst_rule rule)
{
    return (int)(s.bits >> rule & 1u);
}
/* "ikhfa,qalqala": ids, or family words (nun, mim, merge, echo, madd, weight, …, all). Errors
 * quote the word and offer the ids that hold it or whose names do, else the nearest id. */
MST_MUST_CHECK enum mst_status mst_rule_set_parse(struct mst_span s, struct mst_rule_set *out,
                                                  struct mst_error *err);

/* The family words, n from 0, and the rules each stands for; NULL after the last. */
const char *mst_rule_word(int n, struct mst_rule_set *out);

/* --- phones -------------------------------------------------------------- */
/* X(enum, id, IPA, kind) */
#define MST_PHONE_LIST(X)                                                                          \
    X(HAMZA, "hamza", "ʔ", CONSONANT)                                                              \
    X(BA, "b", "b", CONSONANT)                                                                     \
    X(TA, "t", "t", CONSONANT)                                                                     \
    X(THA, "th", "θ", CONSONANT)                                                                   \
    X(JIM, "j", "dʒ", CONSONANT)                                                                   \
    X(HA_HUTTI, "hh", "ħ", CONSONANT)                                                              \
    X(KHA, "kh", "x", CONSONANT)                                                                   \
    X(DAL, "d", "d", CONSONANT)                                                                    \
    X(DHAL, "dh", "ð", CONSONANT)                                                                  \
    X(RA, "r", "r", CONSONANT)                                                                     \
    X(ZAY, "z", "z", CONSONANT)                                                                    \
    X(SIN, "s", "s", CONSONANT)                                                                    \
    X(SHIN, "sh", "ʃ", CONSONANT)                                                                  \
    X(SAD, "ss", "sˤ", CONSONANT)                                                                  \
    X(DAD, "dd", "ɮˤ", CONSONANT)                                                                  \
    X(TAH, "tt", "tˤ", CONSONANT)                                                                  \
    X(ZAH, "zz", "ðˤ", CONSONANT)                                                                  \
    X(AYN, "ayn", "ʕ", CONSONANT)                                                                  \
    X(GHAYN, "gh", "ɣ", CONSONANT)                                                                 \
    X(FA, "f", "f", CONSONANT)                                                                     \
    X(QAF, "q", "q", CONSONANT)                                                                    \
    X(KAF, "k", "k", CONSONANT)                                                                    \
    X(LAM, "l", "l", CONSONANT)                                                                    \
    X(MIM, "m", "m", CONSONANT)                                                                    \
    X(NUN, "n", "n", CONSONANT)                                                                    \
    X(HA, "h", "h", CONSONANT)                                                                     \
    X(WAW, "w", "w", CONSONANT)                                                                    \
    X(YA, "y", "j", CONSONANT)                                                                     \
    X(HAMZA_EASED, "hamza_eased", "ʔ̞", CONSONANT)                                                  \
    X(NUN_HIDDEN, "n_hidden", "ɴ̃", NASAL)                                                          \
    X(MIM_HIDDEN, "m_hidden", "m̃", NASAL)                                                          \
    X(WAW_NASAL, "w_nasal", "w̃", NASAL)                                                            \
    X(YA_NASAL, "y_nasal", "j̃", NASAL)                                                             \
    X(A, "a", "a", SHORT)                                                                          \
    X(I, "i", "i", SHORT)                                                                          \
    X(U, "u", "u", SHORT)                                                                          \
    X(AA, "aa", "aː", LONG)                                                                        \
    X(II, "ii", "iː", LONG)                                                                        \
    X(UU, "uu", "uː", LONG)                                                                        \
    X(EE, "ee", "eː", LONG) /* imāla */

enum mst_phone {
#define X(name, id, ipa, kind) MST_PHONE_##name,
    MST_PHONE_LIST(X)
#undef X
        MST_PHONE_COUNT
};
enum mst_phone_kind {
    MST_PHONE_KIND_CONSONANT,
    MST_PHONE_KIND_NASAL,
    MST_PHONE_KIND_SHORT,
    MST_PHONE_KIND_LONG
};
const char *mst_phone_id(enum mst_phone phone);
const char *mst_phone_ipa(enum mst_phone phone);
enum mst_phone_kind mst_phone_kind(enum mst_phone phone);

/* --- the reading --------------------------------------------------------- */
enum mst_stops {
    MST_STOPS_VERSES, /* at verse ends (the default) */
    MST_STOPS_NONE,   /* only at the very end of the range */
    MST_STOPS_SIGNS,  /* verse ends, 06D6 06D7 06D8 06DA, the first of each embracing pair */
    MST_STOPS_LIST    /* at the listed words, and at the very end */
};
enum mst_stop_manner { MST_STOP_SUKUN, MST_STOP_RAWM, MST_STOP_ISHMAM };

/* Zero = the default of rules.md in every field; counts of 0 = the default. */
struct mst_reading_options {
    enum mst_stops stops;
    const struct mst_addr *stop_list; /* words, any order (MST_STOPS_LIST) */
    size_t stop_count;
    enum mst_stop_manner stop_manner; /* used where the word allows it, else sukūn */
    int no_basmala;                   /* leave out the basmala at the head of a sura */
    int istiadha;                     /* read the seeking of refuge first (address 0:0) */
    int muttasil;                     /* 4 (default) or 5; 6 only for a stop on its hamza */
    int munfasil;                     /* 4 or 5; default = muttasil; 2 = the way of another path */
    int arid;                         /* 2, 4 (default), 6 */
    int lin;                          /* 2, 4, 6, not longer than arid; default = arid */
    int ayn;                          /* 4, 6 (default) */
    int muttasil_stop_6;              /* stopping on muttaṣil's hamza: 6 */
    int question_easing;              /* ءَآلذَّكَرَيۡنِ …: easing instead of 6 */
    int tamanna_rawm;                 /* 12:11: rawm instead of ishmām */
    int atani_without_ya;             /* 27:36 at a stop: without yāʾ */
    int duf_damm;                     /* 30:54: ḍamma instead of fatḥa */
    int musaytirun_sin;               /* 52:37: sīn instead of ṣād */
    int maliyah_merge;                /* 69:28 joined: merging instead of sakt */
    int salasila_alif;                /* 76:4 at a stop: with alif */
    int nakhluqkum_partial;           /* 77:20: partial instead of complete */
    int alim_allah_2;                 /* 3:1–2 joined: 2 instead of 6 */
    int firq_light;                   /* 26:63: rāʾ light (default: heavy, both allowed) */
    int anfal_sakt;                   /* between suras 8 and 9: sakt where the reader goes on */
};

/* The lengths a reader may choose among, by the names of the fields above; how they go together
 * mst_reading_new says. NULL past the end. */
struct mst_count_choice {
    const char *option, *name; /* "muttasil", "muttaṣil" */
    int counts[3], count;
};
const struct mst_count_choice *mst_count_choice_at(int n);

enum mst_pause_sign {
    MST_PAUSE_NONE,
    MST_PAUSE_MUST,     /* 06D8 */
    MST_PAUSE_BETTER,   /* 06D7: stopping is better */
    MST_PAUSE_EITHER,   /* 06DA */
    MST_PAUSE_GO_ON,    /* 06D6: going on is better */
    MST_PAUSE_MUST_NOT, /* 06D9 */
    MST_PAUSE_EMBRACING /* 06DB: at one of the two, not both */
};

/* How a word ends in this reading. */
enum mst_seam { MST_SEAM_JOIN, MST_SEAM_STOP, MST_SEAM_SAKT };

struct mst_word {
    int32_t sura, verse, word;          /* verse 0: basmala; sura 0: the seeking of refuge */
    int32_t first_letter, letter_count; /* in mst_reading.letters */
    int32_t first_sound, sound_count;   /* in mst_reading.sounds; a sound that joins two words
                                           is counted with the word of its last letter */
    int32_t byte_off, byte_len;         /* in the verse's printed bytes */
    enum mst_pause_sign pause_sign;
    enum mst_seam seam;            /* what follows it */
    uint8_t quarter_before, sajda; /* the signs ۞ and ۩ are printed here */
};

struct mst_letter {
    int32_t word_idx;
    int32_t number; /* 1-based in its word */
    uint32_t base;  /* code point as printed; a hamza on tatweel or thin space: U+0621 */
    int32_t byte_off, byte_len; /* base and its marks, in the verse's printed bytes */
};

/* hamzat_wasl acts in two ways, silent or sounded: there it names the way of this reading. */
enum mst_when { MST_ALWAYS, MST_JOINING, MST_STOPPING, MST_STARTING };
const char *mst_when_id(enum mst_when when);

/* Letters are indices into mst_reading.letters; -1 = none. */
struct mst_site {
    uint8_t rule;        /* enum mst_rule */
    uint8_t when;        /* enum mst_when */
    uint16_t reason;     /* index for mst_site_reason */
    int32_t first, last; /* the letters it covers */
    int32_t trigger;     /* the letter the rule acts on; (rule, trigger) is the site's key */
    int32_t host;        /* the letter that causes the change or takes it, or -1 */
    int8_t counts;       /* ḥarakāt, the value this reading chose; 0 = the rule has no length */
    int8_t counts_min, counts_max; /* the range the transmission allows; equal when fixed */
    int8_t nasal;                  /* 1 nasal, 0 not */
    int8_t complete;               /* merging: 1 complete, 0 partial, -1 no merging */
    int8_t grade;        /* ikhfāʾ nearness 1 nearest–3 farthest; echo 1 small–3 greatest;
                            heavy letters' rank 1–5; madd lāzim 1 light (mukhaffaf), 2 heavy
                            (muthaqqal); else 0 */
    int8_t heavy;        /* 1 heavy, 0 light, -1 not said by this rule; madd lāzim: muthaqqal */
    int8_t both_ways;    /* the transmission allows the other way here too */
    int8_t rawm, ishmam; /* at a stop: this manner is allowed here */
    uint8_t tanwin;      /* the trigger's nūn is that of a tanwīn */
};

struct mst_sound {
    int32_t first_letter, last_letter; /* source letters, first to last */
    int32_t word_idx;
    int32_t site;  /* index of the site that gives it its length (or hold), or -1 */
    uint8_t phone; /* enum mst_phone */
    int8_t counts; /* 0 consonant without length of its own; 1 short vowel; 2–6 */
    int8_t counts_min, counts_max;
    int8_t nasal;    /* held with nasal sound */
    int8_t heavy;    /* 1 heavy */
    int8_t rank;     /* 1–5 for the seven heavy letters, else 0 */
    int8_t geminate; /* doubled */
    int8_t echo;     /* 0, or 1 small, 2 great, 3 greatest */
    int8_t rawm;     /* a short vowel at a third of its strength */
    int8_t pause;    /* after this sound: 0 none, 1 the reader stops, 2 sakt */
};

struct mst_reading {
    struct mst_range range;
    struct mst_reading_options options; /* with every default filled in */
    const struct mst_text *text;
    struct mst_word *words;
    struct mst_letter *letters;
    struct mst_site *sites;   /* in order of trigger, then rule */
    struct mst_sound *sounds; /* in order of speech */
    int32_t word_count, letter_count, site_count, sound_count;
};

/*
 * Read a passage. The range may begin and end at any word. USAGE when the
 * options contradict one another or the range (the message says which), or
 * when the stops make the one way of joining two suras that is not allowed.
 */
MST_MUST_CHECK enum mst_status mst_reading_new(const struct mst_text *text, struct mst_range range,
                                               const struct mst_reading_options *options,
                                               struct mst_arena *arena, struct mst_reading **out,
                                               struct mst_error *err);

/* "none", "verses", "signs" or "67:1:3,67:2:4" (a bare verse = its last word). */
MST_MUST_CHECK enum mst_status mst_stops_parse(const struct mst_text *text, struct mst_span s,
                                               struct mst_arena *arena,
                                               struct mst_reading_options *io,
                                               struct mst_error *err);

struct mst_addr mst_letter_addr(const struct mst_reading *r, int32_t letter);
/* The printed bytes that byte_off of words and letters counts in: those of mst_text_verse, and the
 * seeking of refuge for sura 0. */
struct mst_span mst_reading_verse(const struct mst_reading *r, int32_t sura, int32_t verse);
/* The printed bytes of a word of the reading. */
struct mst_span mst_reading_word(const struct mst_reading *r, int32_t word_idx);
/* First and last (exclusive) site whose trigger is this letter. */
void mst_sites_at(const struct mst_reading *r, int32_t letter, int32_t *first, int32_t *end);
/* The one rule that acts on letters first…end-1 and that a teacher's word about them ("short",
 * "long", "nasal", "echo", "heavy", "light", "well") is about; MST_RULE_COUNT: none, or it may be
 * several. */
enum mst_rule mst_rule_noted(const struct mst_reading *r, const char *what, int32_t first,
                             int32_t end);
/* One sentence a learner understands: why the rule acts here. */
void mst_site_reason(const struct mst_reading *r, const struct mst_site *site, enum mst_lang lang,
                     struct mst_string *out);
/* The accessible text form of a mark: "hiding, nūn before kāf, words 3–4, 2 counts". */
void mst_site_label(const struct mst_reading *r, const struct mst_site *site, enum mst_lang lang,
                    struct mst_string *out);
/* How a line of sounds shows a pause (mst_sound.pause), a blank before it: | a stop, (.) one
 * without breath, the short pause of the extended IPA (extIPA, 2015); "": none. */
const char *mst_pause_ipa(int pause);
/* An IPA-like line for the sounds first…end-1, words parted by spaces and their pauses. */
void mst_sounds_ipa(const struct mst_reading *r, int32_t first, int32_t end,
                    struct mst_string *out);

/* --- the letters themselves (Ibn al-Jazarī's count) ----------------------- */
struct mst_articulation {
    uint32_t letter; /* code point */
    const char *name_en, *name_ar;
    int place;                         /* 1–17 */
    const char *region_en, *region_ar; /* one of the five regions */
    const char *place_en, *place_ar;
    uint32_t qualities; /* MST_QUALITY_… bits */
};
/* X(enum, id, English, Arabic) */
#define MST_QUALITY_LIST(X)                                                                        \
    X(HAMS, "hams", "breath runs on (hams)", "همس")                                                \
    X(JAHR, "jahr", "breath held back (jahr)", "جهر")                                              \
    X(SHIDDA, "shidda", "sound held (shidda)", "شدة")                                              \
    X(TAWASSUT, "tawassut", "between held and flowing (tawassuṭ)", "توسط")                         \
    X(RIKHWA, "rikhwa", "sound flows (rikhwa)", "رخاوة")                                           \
    X(ISTILA, "istila", "tongue raised (istiʿlāʾ)", "استعلاء")                                     \
    X(ISTIFAL, "istifal", "tongue low (istifāl)", "استفال")                                        \
    X(ITBAQ, "itbaq", "covered (iṭbāq)", "إطباق")                                                  \
    X(INFITAH, "infitah", "open (infitāḥ)", "انفتاح")                                              \
    X(IDHLAQ, "idhlaq", "light on the tongue (idhlāq)", "إذلاق")                                   \
    X(ISMAT, "ismat", "firm (iṣmāt)", "إصمات")                                                     \
    X(SAFIR, "safir", "whistling (ṣafīr)", "صفير")                                                 \
    X(QALQALA, "qalqala", "echo (qalqala)", "قلقلة")                                               \
    X(LIN, "lin", "soft (līn)", "لين")                                                             \
    X(INHIRAF, "inhiraf", "turning aside (inḥirāf)", "انحراف")                                     \
    X(TAKRIR, "takrir", "trill (takrīr)", "تكرير")                                                 \
    X(TAFASHSHI, "tafashshi", "spreading (tafashshī)", "تفشي")                                     \
    X(ISTITALA, "istitala", "drawn out (istiṭāla)", "استطالة")                                     \
    X(GHUNNA, "ghunna", "nasal (ghunna)", "غنة")
enum mst_quality_index {
#define X(name, id, en, ar) MST_QUALITY_INDEX_##name,
    MST_QUALITY_LIST(X)
#undef X
        MST_QUALITY_COUNT
};
const char *mst_quality_name(int index, enum mst_lang lang);
/* A place of articulation, 1–17; NULL for another number. The seventeenth has no letter of its own.
 */
struct mst_articulation_place {
    int number;
    const char *region_en, *region_ar, *place_en, *place_ar;
};
const struct mst_articulation_place *mst_articulation_place(int number);
/* The 28 letters and the alif of lengthening; NULL past the end. */
const struct mst_articulation *mst_articulation_at(int n);
/* By code point as printed (hamza forms, ة, ى folded); NULL when it is no letter. */
const struct mst_articulation *mst_articulation_of(uint32_t cp);
const char *mst_articulation_source(void);

#ifdef __cplusplus
}
#endif
#endif
