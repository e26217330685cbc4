/*
 * tajweed/reasons.h – why a rule acts, one sentence each, English and Arabic.
 * {n} nūn without a vowel, or tanwīn · {t} the trigger's name · {h} the host's
 * name · {w} in the same word, or at the start of the next · {c} counts.
 */
#define REASON_LIST(X)                                                                              \
    X(IZHAR_HALQI,                                                                                  \
      "{n} meets {h}, a letter of the throat, {w}: it is sounded clearly, without a hold",          \
      "{n} بعدها {h} من حروف الحلق {w}، فتُظهر من غير غنة زائدة")                                    \
    X(IZHAR_MUTLAQ,                                                                                 \
      "{n} meets {h} inside one word: it stays clear, so that the word is not mistaken",            \
      "{n} بعدها {h} في كلمة واحدة، فتُظهر إظهارا مطلقا")                                            \
    X(IZHAR_OPENING,                                                                                \
      "the nūn that ends this letter's name meets {h} when read on: Ḥafṣ keeps it clear",           \
      "نون اسم الحرف بعدها {h} عند الوصل، فتُظهر لحفص")                                              \
    X(IDGHAM_COMPLETE,                                                                              \
      "{n} meets {h} {w}: it vanishes into it, and the doubled {h} is held in the nose for {c} "    \
      "counts",                                                                                     \
      "{n} بعدها {h} {w}، فتُدغم فيها إدغاما كاملا بغنة مقدارها حركتان")                             \
    X(IDGHAM_PARTIAL,                                                                               \
      "{n} meets {h} {w}: it merges into it, but its nasal sound remains for {c} counts",           \
      "{n} بعدها {h} {w}، فتُدغم فيها إدغاما ناقصا مع بقاء الغنة حركتين")                            \
    X(IDGHAM_BILA, "{n} meets {h} {w}: it vanishes into it wholly, without nasal sound",            \
      "{n} بعدها {h} {w}، فتُدغم فيها إدغاما كاملا بلا غنة")                                         \
    X(IQLAB,                                                                                        \
      "{n} meets {h} {w}: it turns into a nasal m, the lips lightly closed, for {c} counts",        \
      "{n} بعدها {h} {w}، فتُقلب ميما مخفاة بغنة حركتين")                                            \
    X(IKHFA,                                                                                        \
      "{n} meets {h} {w}: it is hidden, neither clear nor merged, and held in the nose for {c} "    \
      "counts",                                                                                     \
      "{n} بعدها {h} {w}، فتُخفى بين الإظهار والإدغام بغنة حركتين")                                  \
    X(TANWIN_KASRA,                                                                                 \
      "the nūn of tanwīn meets a joining hamza: two vowelless letters meet, and it takes a "      \
      "passing kasra",                                                                              \
      "التنوين بعده همزة وصل، فالتقى ساكنان، فتُكسر نون التنوين كسرا عارضا")                         \
    X(IKHFA_SHAFAWI,                                                                                \
      "mīm without a vowel meets {h} {w}: it is hidden at the lips, with a nasal hold of {c} "     \
      "counts",                                                                                     \
      "الميم الساكنة بعدها {h} {w}، فتُخفى إخفاء شفويا بغنة حركتين")                                 \
    X(IDGHAM_SHAFAWI,                                                                               \
      "mīm without a vowel meets {h} {w}: one doubled mīm, held in the nose for {c} counts",        \
      "الميم الساكنة بعدها {h} {w}، فتُدغم فيها بغنة حركتين")                                        \
    X(IDGHAM_SHAFAWI_OPENING,                                                                       \
      "the mīm that ends this letter's name meets {h}: one doubled mīm, held in the nose for "    \
      "{c} counts",                                                                                 \
      "ميم اسم الحرف بعدها {h}، فتُدغم فيها بغنة حركتين")                                            \
    X(IZHAR_SHAFAWI, "mīm without a vowel meets {h} {w}: it is sounded clearly",                    \
      "الميم الساكنة بعدها {h} {w}، فتُظهر إظهارا شفويا")                                            \
    X(IZHAR_SHAFAWI_CARE,                                                                           \
      "mīm without a vowel meets {h} {w}: it is sounded clearly, with most care here, since {h} "  \
      "is close to it",                                                                             \
      "الميم الساكنة بعدها {h} {w}، فتُظهر إظهارا شفويا أشد لقرب {h} منها")                          \
    X(GHUNNA_NUN, "a doubled nūn is held in the nose for {c} counts",                               \
      "نون مشددة، فيها غنة مقدارها حركتان")                                                         \
    X(GHUNNA_MIM, "a doubled mīm is held in the nose for {c} counts",                               \
      "ميم مشددة، فيها غنة مقدارها حركتان")                                                         \
    X(LAM_SHAMSIYYA,                                                                                \
      "the article's lām meets {h}, a letter of the tongue: it vanishes into it, and {h} is "      \
      "doubled",                                                                                    \
      "لام التعريف بعدها {h}، فتُدغم فيها")                                                          \
    X(LAM_ONE_LETTER,                                                                               \
      "the article's lām and the word's own lām are written as one doubled letter",                 \
      "لام التعريف أُدغمت في لام الكلمة، ورُسمتا لاما واحدة مشددة")                                   \
    X(LAM_QAMARIYYA, "the article's lām meets {h}: it is sounded clearly",                          \
      "لام التعريف بعدها {h}، فتُظهر")                                                               \
    X(EQUALS, "{t} without a vowel meets another {h} {w}: the two are said as one doubled letter",  \
      "{t} ساكنة بعدها مثلها {w}، فتُدغم فيها")                                                      \
    X(KIN,                                                                                          \
      "{t} without a vowel meets {h}, from the same place of the mouth, {w}: it vanishes into it",  \
      "{t} ساكنة بعدها {h} {w}، وهما من مخرج واحد، فتُدغم فيها إدغاما كاملا")                        \
    X(KIN_PARTIAL,                                                                                  \
      "{t} without a vowel meets {h} {w}: it merges, but its heaviness remains, and there is no "   \
      "echo",                                                                                       \
      "{t} ساكنة بعدها {h} {w}، فتُدغم فيها إدغاما ناقصا مع بقاء صفة الإطباق")                       \
    X(KIN_NASAL,                                                                                    \
      "{t} without a vowel meets {h} {w}, both of the lips: one doubled mīm, held in the nose "    \
      "for {c} counts",                                                                             \
      "{t} ساكنة بعدها {h} {w}، وهما من الشفتين، فتُدغم فيها بغنة حركتين")                           \
    X(NEIGHBOURS, "{t} without a vowel meets {h}, its near neighbour, {w}: it vanishes into it",    \
      "{t} ساكنة بعدها {h} {w}، وهما متقاربان، فتُدغم فيها إدغاما كاملا")                            \
    X(NEIGHBOURS_PARTIAL,                                                                           \
      "{t} without a vowel meets {h} {w}: it merges, but its heaviness remains",                    \
      "{t} ساكنة بعدها {h} {w}، فتُدغم فيها إدغاما ناقصا مع بقاء صفة الاستعلاء")                     \
    X(QALQALA_SMALL, "{t} has no vowel: it is let go with a light echo",                            \
      "{t} ساكنة، فتُقلقل قلقلة صغرى")                                                               \
    X(QALQALA_GREAT, "the reader stops on {t}: it is let go with a plain echo",                     \
      "وُقف على {t} ساكنة، فتُقلقل قلقلة كبرى")                                                       \
    X(QALQALA_OPENING,                                                                              \
      "the dāl that ends this letter's name has no vowel: it is let go with a light echo",          \
      "دال اسم الحرف ساكنة، فتُقلقل قلقلة صغرى")                                                     \
    X(QALQALA_OPENING_STOP,                                                                         \
      "the reader stops on the dāl that ends this letter's name: it is let go with a plain "       \
      "echo",                                                                                       \
      "وُقف على دال اسم الحرف ساكنة، فتُقلقل قلقلة كبرى")                                             \
    X(QALQALA_GREATEST,                                                                             \
      "the reader stops on a doubled {t}: pressed first, then let go with the strongest echo",      \
      "وُقف على {t} مشددة، فتُقلقل أكبر القلقلة")                                                     \
    X(TABII,                                                                                        \
      "a letter of lengthening with neither hamza nor a vowelless letter after it: {c} "            \
      "counts",                                                                                     \
      "حرف مد ليس بعده همز ولا سكون، فيُمد حركتين")                                                  \
    X(TABII_OPENING, "this letter's name has two letters: a natural lengthening of {c} counts",     \
      "حرف هجاؤه على حرفين، فيُمد حركتين")                                                           \
    X(TABII_NAME, "the long ā of the Name is sounded though it is not written: {c} counts",         \
      "ألف لفظ الجلالة تُلفظ ولا تُكتب، وتُمد حركتين")                                                 \
    X(BADAL, "a letter of lengthening right after hamza: {c} counts",                               \
      "حرف مد تقدمته همزة، فيُمد حركتين")                                                            \
    X(IWAD, "the reader stops on tanwīn with fatḥa: an alif of {c} counts stands in its place",     \
      "وُقف على تنوين الفتح، فيُعوض عنه ألف تُمد حركتين")                                              \
    X(SILA_SUGHRA,                                                                                  \
      "the pronoun's hāʾ between two vowels: its vowel is lengthened to {c} counts when read on",   \
      "هاء الضمير بين متحركين، فتُوصل بحرف مد حركتين")                                               \
    X(SILA_KUBRA,                                                                                   \
      "the pronoun's hāʾ between two vowels, a hamza next: its vowel is lengthened to {c} counts",  \
      "هاء الضمير بين متحركين وبعدها همزة قطع، فتُمد كالمنفصل")                                      \
    X(TAMKIN, "a doubled yāʾ with kasra, then a lengthening yāʾ: {c} counts, both made plain",      \
      "ياء مشددة مكسورة بعدها ياء مد، فتُمكَّن حركتين")                                                \
    X(MUNFASIL,                                                                                     \
      "a letter of lengthening ends the word and the next begins with hamza: {c} counts when "      \
      "read on",                                                                                    \
      "حرف مد آخر الكلمة وهمزة أول التي تليها، فيُمد عند الوصل")                                     \
    X(MUNFASIL_JOINED,                                                                              \
      "two words written as one: the lengthening ends the first, the hamza begins the second: "     \
      "{c} counts",                                                                                 \
      "كلمتان رُسمتا موصولتين، حرف المد آخر الأولى والهمزة أول الثانية، فهو منفصل حكما")             \
    X(MUTTASIL, "a letter of lengthening with hamza after it in the same word: {c} counts",         \
      "حرف مد بعده همزة في كلمة واحدة، فيُمد وجوبا")                                                 \
    X(MUTTASIL_STOP,                                                                                \
      "a letter of lengthening with hamza after it, and the reader stops on the hamza: {c} "        \
      "counts (six allowed)",                                                                       \
      "حرف مد بعده همزة موقوف عليها، فيُمد وجوبا ويجوز ست")                                          \
    X(LAZIM_HEAVY, "a doubled letter follows the lengthening in the same word: always {c} counts",  \
      "حرف مد بعده حرف مشدد في كلمة، فيُمد ست حركات لزوما")                                          \
    X(LAZIM_LIGHT,                                                                                  \
      "a letter that never has a vowel here follows the lengthening: always {c} "                   \
      "counts",                                                                                     \
      "حرف مد بعده سكون أصلي في كلمة، فيُمد ست حركات لزوما")                                         \
    X(LAZIM_LETTER_HEAVY,                                                                           \
      "this letter's name has three letters, the last merging into what follows: {c} counts",       \
      "حرف هجاؤه على ثلاثة أحرف أُدغم آخره فيما بعده، فيُمد ست حركات")                                \
    X(LAZIM_LETTER_LIGHT,                                                                           \
      "this letter's name has three letters, a lengthening in the middle: {c} counts",              \
      "حرف هجاؤه على ثلاثة أحرف أوسطها حرف مد ولم يُدغم آخره، فيُمد ست حركات")                        \
    X(LAZIM_AYN, "the name of ʿayn has a soft yāʾ in the middle: {c} counts, four or six allowed",  \
      "عين وسطها حرف لين، ففيها التوسط والطول")                                                     \
    X(LAZIM_ALIM,                                                                                   \
      "read on, this mīm takes a passing fatḥa: six counts for what it was, or two for what is " \
      "heard",                                                                                      \
      "حُركت الميم بالفتح عند الوصل، فيجوز ست اعتدادا بالأصل أو حركتان اعتدادا بالعارض")             \
    X(ARID,                                                                                         \
      "the reader stops, and the last letter loses its vowel: {c} counts, two, four or six "        \
      "allowed",                                                                                    \
      "حرف مد بعده ساكن عارض للوقف، فيُمد حركتين أو أربعا أو ستا")                                   \
    X(LIN, "a soft {t} after fatḥa, and the reader stops on the letter after it: {c} counts",       \
      "حرف لين بعده ساكن عارض للوقف، فيُمد حركتين أو أربعا أو ستا")                                  \
    X(HADHF, "a joining hamza follows: the lengthening is dropped when read on",                    \
      "حرف مد بعده همزة وصل، فيُحذف لفظا عند الوصل")                                                 \
    X(RANK_1, "{t} is always heavy; heaviest with fatḥa and alif",                                  \
      "{t} من حروف الاستعلاء، مفتوحة بعدها ألف، في المرتبة الأولى")                                 \
    X(RANK_2, "{t} is always heavy; with fatḥa, second in strength",                                \
      "{t} من حروف الاستعلاء، مفتوحة، في المرتبة الثانية")                                          \
    X(RANK_3, "{t} is always heavy; with ḍamma, third in strength",                                 \
      "{t} من حروف الاستعلاء، مضمومة، في المرتبة الثالثة")                                          \
    X(RANK_4, "{t} is always heavy; without a vowel, fourth in strength",                           \
      "{t} من حروف الاستعلاء، ساكنة، في المرتبة الرابعة")                                           \
    X(RANK_5, "{t} is always heavy; with kasra, least so",                                          \
      "{t} من حروف الاستعلاء، مكسورة، في المرتبة الخامسة")                                          \
    X(ALIF_HEAVY, "the alif follows the letter before it, which is heavy",                          \
      "الألف تابعة لما قبلها، وهو مفخم")                                                            \
    X(RA_HEAVY_VOWEL, "rāʾ with fatḥa or ḍamma is heavy", "راء مفتوحة أو مضمومة، فتُفخم")            \
    X(RA_LIGHT_KASRA, "rāʾ with kasra is light", "راء مكسورة، فتُرقق")                               \
    X(RA_LIGHT_IMALA, "rāʾ is light with imāla", "راء ممالة، فتُرقق")                                \
    X(RA_HEAVY_BEFORE, "rāʾ without a vowel after fatḥa or ḍamma is heavy",                         \
      "راء ساكنة قبلها فتح أو ضم، فتُفخم")                                                           \
    X(RA_LIGHT_BEFORE, "rāʾ without a vowel after a kasra of its own word is light",                \
      "راء ساكنة قبلها كسر أصلي وليس بعدها حرف استعلاء في الكلمة، فتُرقق")                           \
    X(RA_HEAVY_AFTER,                                                                               \
      "rāʾ without a vowel after kasra, but a heavy letter follows in the word: "                 \
      "heavy",                                                                                      \
      "راء ساكنة بعد كسر وبعدها حرف استعلاء في الكلمة، فتُفخم")                                      \
    X(RA_HEAVY_PASSING, "rāʾ without a vowel after a joining hamza, whose vowel passes: heavy",     \
      "راء ساكنة قبلها كسر عارض، فتُفخم")                                                            \
    X(RA_FIRQ, "rāʾ between two kasras, a heavy letter after it: both ways are read",               \
      "راء ساكنة بعد كسر وبعدها حرف استعلاء مكسور، ففيها الوجهان")                                  \
    X(RA_STOP_HEAVY, "the reader stops on rāʾ, and what comes before it is fatḥa or ḍamma: heavy",  \
      "راء موقوف عليها قبلها فتح أو ضم، فتُفخم")                                                     \
    X(RA_STOP_LIGHT, "the reader stops on rāʾ after kasra: light",                                  \
      "راء موقوف عليها قبلها كسر، فتُرقق")                                                           \
    X(RA_STOP_LIGHT_YA, "the reader stops on rāʾ after yāʾ: light",                                 \
      "راء موقوف عليها قبلها ياء ساكنة، فتُرقق")                                                     \
    X(RA_STOP_HEAVY_EITHER,                                                                         \
      "the reader stops on rāʾ, a heavy letter between it and the kasra: both ways, heavy "       \
      "preferred",                                                                                  \
      "راء موقوف عليها وبينها وبين الكسر حرف استعلاء، ففيها الوجهان والتفخيم مقدم")                 \
    X(RA_STOP_LIGHT_EITHER,                                                                         \
      "the reader stops on rāʾ whose own vowel is kasra: both ways, light preferred",               \
      "راء موقوف عليها أصلها الكسر، ففيها الوجهان والترقيق مقدم")                                   \
    X(NAME_HEAVY, "the lām of the Name is heavy after fatḥa or ḍamma, and at a start",              \
      "لام لفظ الجلالة قبلها فتح أو ضم، فتُفخم")                                                     \
    X(NAME_LIGHT, "the lām of the Name is light after kasra", "لام لفظ الجلالة قبلها كسر، فتُرقق")   \
    X(WASL_JOINED, "a joining hamza is written but not sounded when read on",                       \
      "همزة وصل تسقط في الدرج")                                                                     \
    X(WASL_INSIDE, "a joining hamza after a prefix is never sounded",                               \
      "همزة وصل تقدمها حرف متصل بها، فتسقط لفظا")                                                   \
    X(WASL_START_A, "the reader starts here: the joining hamza of the article takes fatḥa",         \
      "ابتُدئ بهمزة الوصل في لام التعريف، فتُفتح")                                                    \
    X(WASL_START_I, "the reader starts here: the joining hamza takes kasra",                        \
      "ابتُدئ بهمزة الوصل، فتُكسر")                                                                   \
    X(WASL_START_U,                                                                                 \
      "the reader starts here: the third letter has a ḍamma of its own, and the "                 \
      "joining hamza takes ḍamma",                                                                  \
      "ابتُدئ بهمزة الوصل وثالث الفعل مضموم ضما لازما، فتُضم")                                        \
    X(WASL_AYKA, "the reader starts here: the word is begun like al-ayka, with hamza and fatḥa",    \
      "ابتُدئ بهذه الكلمة، فيُؤتى بهمزة مفتوحة قبل اللام")                                            \
    X(ILTIQA_KASRA, "two vowelless letters meet: the first takes a passing kasra",                  \
      "التقى ساكنان، فحُرك الأول بالكسر تخلصا")                                                      \
    X(ILTIQA_DAMMA, "two vowelless letters meet: the plural's letter takes a passing ḍamma",        \
      "التقى ساكنان، فحُرك الأول بالضم تخلصا")                                                       \
    X(ILTIQA_FATHA, "two vowelless letters meet: the nūn of min takes a passing fatḥa",             \
      "التقى ساكنان، فحُركت نون مِن بالفتح تخلصا")                                                    \
    X(ILTIQA_ALIM, "two vowelless letters meet: the mīm of the opening takes a passing fatḥa",      \
      "التقى ساكنان، فحُركت ميم فاتحة السورة بالفتح تخلصا")                                          \
    X(ILTIQA_ISM, "the article's lām meets another vowelless letter and takes a passing kasra",     \
      "التقى ساكنان، فكُسرت لام التعريف تخلصا")                                                      \
    X(WAQF_SUKUN, "the reader stops: the last letter loses its vowel",                              \
      "وُقف على آخر الكلمة، فتُسكن")                                                                  \
    X(WAQF_TANWIN, "the reader stops: the last letter loses its tanwīn",                            \
      "وُقف على آخر الكلمة، فيُحذف التنوين وتُسكن")                                                    \
    X(WAQF_HA, "the reader stops: the tied tāʾ is read as hāʾ",                                     \
      "وُقف على تاء التأنيث المربوطة، فتُبدل هاء")                                                    \
    X(RAWM, "the reader stops with rawm: about a third of the vowel is kept",                       \
      "وُقف بالروم، فيُؤتى ببعض الحركة")                                                              \
    X(ISHMAM, "the reader stops with ishmām: the lips are rounded without sound",                   \
      "وُقف بالإشمام، فتُضم الشفتان بعيد الإسكان من غير صوت")                                         \
    X(SIFR_MUSTADIR, "this letter is written and never sounded",                                    \
      "حرف زائد في الرسم لا يُلفظ وصلا ولا وقفا")                                                    \
    X(SIFR_BOTH,                                                                                    \
      "this alif is not sounded when read on; at a stop both are taught, and it is left out "       \
      "here",                                                                                       \
      "ألف تُحذف وصلا، وفي الوقف وجهان: إثباتها وحذفها، وهي هنا محذوفة")                             \
    X(SIFR_MUSTATIL, "this alif is not sounded when read on, but at a stop it is",                  \
      "ألف تُحذف وصلا وتثبت وقفا")                                                                   \
    X(SAKT, "the reader holds the voice for a moment here, without taking breath",                  \
      "سكتة لطيفة من غير تنفس")                                                                     \
    X(IMALA, "fatḥa leans toward kasra and alif toward yāʾ: the only such place in this reading",   \
      "إمالة كبرى، الفتحة نحو الكسرة والألف نحو الياء")                                             \
    X(TASHIL, "the second hamza is eased, between hamza and alif",                                  \
      "تُسهل الهمزة الثانية بين الهمزة والألف")                                                      \
    X(TASHIL_QUESTION,                                                                              \
      "after the question hamza the joining hamza is eased instead of "                             \
      "lengthened",                                                                                 \
      "تُسهل همزة الوصل بعد همزة الاستفهام")                                                         \
    X(TAMANNA_ISHMAM,                                                                               \
      "two nūns merged into one: the lips are rounded during the hold to show "                    \
      "the ḍamma of the first",                                                                     \
      "أُدغمت النون في النون مع الإشمام، تُضم الشفتان إشارة إلى ضمة الأولى")                          \
    X(TAMANNA_RAWM, "the first nūn is read apart with a faint part of its ḍamma; no merging",       \
      "تُظهر النون الأولى مع اختلاس ضمتها، فلا إدغام")                                               \
    X(SAD_AS_SIN, "written with ṣād, read with sīn", "رُسمت صادا وتُقرأ سينا")                        \
    X(SAD_ONLY, "read with ṣād, though the word is near to one that allows sīn",                    \
      "تُقرأ بالصاد وجها واحدا")                                                                     \
    X(SAD_EITHER, "written with ṣād; ṣād and sīn are both read", "رُسمت صادا، وفيها الصاد والسين")   \
    X(SAD_EITHER_SIN, "written with ṣād; read here with sīn, the other allowed way",                \
      "رُسمت صادا، وقُرئت هنا بالسين وهو الوجه الآخر")                                                \
    X(FATH_DAMM, "this ḍād is read with fatḥa or with ḍamma", "في هذه الضاد الفتح والضم")
