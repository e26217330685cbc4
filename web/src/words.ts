// What the desk says, in both of its languages.
import { hearWords } from "./hear/words";
import { lessonWords } from "./lesson/words";
import { takeWords } from "./takes/words";

export type Lang = "en" | "ar";

const words = {
  ...lessonWords,
  ...hearWords,
  ...takeWords,
  text: ["Text", "النص"], find: ["Find", "البحث"], takes: ["Takes", "التسجيلات"], hear: ["Hear", "السماع"],
  lessons: ["Lessons", "الدروس"], course: ["Course", "المنهج"],
  class: ["Class", "الصف"], listening: ["Listening", "الاستماع"], progress: ["Progress", "التقدّم"], mine: ["My recitation", "تلاوتي"],
  no_desk: ["The desk cannot be reached at the moment.", "تعذر الوصول إلى المكتب الآن."], to_mine: ["I have a code from my teacher", "معي رمز من معلمي"],
  skip: ["To the page", "إلى الصفحة"], other_language: ["العربية", "English"],
  to_dark: ["Dark", "داكن"], to_light: ["Light", "فاتح"], sign_out: ["Sign out", "خروج"], still_in: ["You are still signed in here.", "لم يتم الخروج بعد."], screens: ["Screens", "الصفحات"],
  waiting: ["One moment…", "لحظة…"],
  stay: ["Stay as you are", "ابقَ كما أنت"],
  leave_sure: ["Sign out? To come back you need a new code from your teacher.", "أتخرج؟ للعودة تحتاج إلى رمز جديد من معلمك."],
  nowhere: ["There is no page at this address.", "لا صفحة بهذا العنوان."],
  nowhere_lead: ["It may have been mistyped, or it is a page that is not yours to open. All your pages are named above.",
    "لعله كُتب خطأً، أو هو صفحة ليست لك؛ وأسماء صفحاتك في الأعلى."],
  enter: ["Open the desk", "فتح المكتب"], passphrase: ["Passphrase", "عبارة المرور"],
  enter_by_link: ["Follow the link that the desk printed when it was started. It holds once, for half an hour. If it was used, close the desk and start it again: it prints a new one.",
    "افتح الرابط الذي طبعه البرنامج عند بدئه؛ يصلح مرة واحدة خلال نصف ساعة. فإن استُعمل فأغلق البرنامج وأعد تشغيله ليطبع رابطا جديدا."],
  link_old: ["This link has been used or is too old. Start the desk again for a new one.",
    "استُعمل هذا الرابط أو انقضت مدته. أعد تشغيل البرنامج للحصول على رابط جديد."],
  passage_or_words: ["A passage, or words to look for", "موضع أو كلمات للبحث"], open: ["Open", "فتح"],
  passage_hint: ["67:1-5, al-Mulk 1-5, page 562, or a word", "67:1-5 أو الملك 1-5 أو كلمة"],
  say_where: ["Write first which passage, or which words.", "اكتب أولا الموضع أو الكلمات."],
  in_parts: ["This is more than is shown at once. It is here in parts:", "هذا أكثر مما يُعرض معا، وهذه أقسامه:"],
  sura: ["Sura", "السورة"], before: ["Before", "السابق"], after: ["After", "التالي"],
  found: ["Found", "نتائج البحث"], nothing_found: ["Nothing found.", "لم يوجد شيء."], more_there: ["There is more; a longer query narrows it.", "هناك المزيد؛ زِد كلمات البحث."],
  marks: ["Marks", "العلامات"], all_marks: ["also what is plain to see", "وما هو ظاهر أيضا"],
  none: ["None", "بلا"], all: ["All", "الكل"],
  how: ["How it is read", "وجه القراءة"], as_usual: ["as usual", "كالمعتاد"],
  muttasil: ["joined lengthening", "المد المتصل"], munfasil: ["parted lengthening", "المد المنفصل"],
  arid: ["before a stop", "العارض للسكون"], lin: ["soft, before a stop", "مد اللين"],
  stops: ["Stops", "الوقف"], at_verses: ["at verse ends", "على رؤوس الآي"], at_signs: ["also at the signs", "وعند علامات الوقف"],
  no_stops: ["nowhere", "بلا وقف"], own_stops: ["as set by hand", "كما وُضعت"],
  stop_after: ["Stop after", "وقف بعد"], stop_here: ["Stop after this word", "الوقف بعد هذه الكلمة"], clear: ["Close", "إغلاق"],
  passage: ["The passage", "النص المختار"],
  keys: ["Click a letter to hear about it, and a space between words to stop there. With the keyboard: arrows go from word to word, Enter tells about the word, S stops after it, Escape closes.",
    "انقر الحرف لمعرفة حكمه، والفراغ بين الكلمتين للوقف. ومن لوحة المفاتيح: الأسهم للتنقل بين الكلمات، وEnter لأحكام الكلمة، وS للوقف بعدها، وEscape للإغلاق."],
  explained: ["What is read here", "ما يُقرأ هنا"], no_rule: ["Read as it is written; no rule touches this letter.", "يُقرأ كما رُسم ولا حكم فيه."],
  no_rule_word: ["No rule touches this word.", "لا حكم في هذه الكلمة."],
  why: ["Why", "السبب"], mouth: ["What the mouth does", "صفة النطق"], source: ["Source", "المصدر"],
  place: ["Place", "المخرج"], qualities: ["Qualities", "الصفات"], letters_of_word: ["Letters of this word", "حروف الكلمة"],
  whole_word: ["whole word", "الكلمة كلها"], between: ["to", "إلى"],
  sheet: ["As a sheet (PDF)", "ورقة (PDF)"], print: ["Print", "طباعة"],

  rule: ["Rule", "الحكم"], where: ["Where", "في"], find_it: ["Find", "بحث"], what_kind: ["What to find", "نوع البحث"],
  examples: ["Examples", "أمثلة"], passages: ["Passages", "مقاطع"], cover: ["Fewest verses for all", "أقل الآيات الجامعة"],
  proved: ["no smaller set exists", "ولا توجد مجموعة أصغر"], not_proved: ["the best found in the time", "أفضل ما وُجد في الوقت المتاح"],

  takes_lead: ["A recitation is kept on this machine alone and measured against the reading. The teacher decides.",
    "تُحفظ التلاوة على هذا الجهاز وحده وتُقاس على وجه القراءة، والحكم للمعلم."],
  name: ["Name", "الاسم"], or_file: ["or a sound file", "أو ملف صوتي"], record: ["Record", "تسجيل"], stop_recording: ["Stop and keep", "إيقاف وحفظ"],
  level: ["level of the microphone", "مستوى الصوت"], clipped: ["Too loud: the sound was clipped. Move away from the microphone.", "الصوت عال وقد قُطعت ذراه؛ ابتعد عن اللاقط."],
  browser_refuses: ["The browser changes the sound all the same; lengths and nasal sounds cannot be trusted:", "المتصفح يغيّر الصوت مع ذلك، فلا يوثق بالمدود والغنة:"],
  no_microphone: ["The microphone cannot be used.", "لا يمكن استعمال اللاقط."],
  microphone_missing: ["No microphone was found. Connect one, then record again.", "لا لاقط متصل. صِل لاقطا ثم سجّل من جديد."],
  microphone_forbidden: ["The browser was not allowed to use the microphone. Allow it beside the address of this page, then record again.",
    "لم يُسمح للمتصفح باستعمال اللاقط. اسمح به بجانب عنوان هذه الصفحة ثم سجّل من جديد."],
  microphone_taken: ["The microphone is there, but gives no sound: another program may be using it. Close that one, then record again.",
    "اللاقط موجود لكنه لا يعطي صوتا؛ لعل برنامجا آخر يستعمله. أغلقه ثم سجّل من جديد."],
  state_new: ["not listened to yet", "لم يُسمع بعد"], state_waiting: ["waits its turn", "ينتظر دوره"], state_listening: ["listening", "يُسمع الآن"],
  state_heard: ["heard", "سُمع"], state_refused: ["refused", "رُد"], all_takes: ["All takes", "كل التسجيلات"],
  no_takes: ["Nothing recorded yet.", "لا تسجيلات بعد."], take_gone: ["This take is not here any more.", "لم يعد هذا التسجيل هنا."],
  remove: ["Remove", "حذف"], remove_sure: ["Remove for good:", "حذف نهائي:"], listen: ["Listen again", "إعادة السماع"], cancel: ["Cancel", "إلغاء"],
  loop: ["over and over", "تكرار"], speed: ["Speed", "السرعة"], waveform: ["Waveform with words and places", "الموجة مع الكلمات والمواضع"],
  measured_beside: ["Measured beside expected", "المقيس والمتوقع"], site: ["Place", "الموضع"], expected: ["Expected", "المتوقع"], measured: ["Measured", "المقيس"],
  publish_this: ["Choose this one to publish", "اختر هذا للنشر"], is_published: ["Chosen to publish", "مختار للنشر"], published: ["to publish", "للنشر"],
  correct_edges: ["Correct where words begin", "تصحيح بدايات الكلمات"], begins: ["beginning of", "بداية"],
  correct_lead: ["Drag a line, or go to it with Tab and move it with the arrow keys, with Shift further. It is kept at once.",
    "اسحب الخط، أو انتقل إليه بـ Tab وحرّكه بالأسهم، ومع Shift أكثر؛ ويُحفظ فورا."],
  edges_moved: ["Moved and kept. Listen again to measure with it.", "حُرّك وحُفظ؛ أعد السماع ليُقاس به."],
  compare: ["Two takes side by side", "مقارنة تسجيلين"], compare_with: ["Compare with", "قارن مع"], no_other_take: ["There is no other take of this passage that was heard.", "لا تسجيل آخر لهذا المقطع."],
  pace_of_second: ["Pace of the second", "سرعة الثاني"], pace_taken_out: ["(in the ratios below, pace is taken out)", "(والنسب أدناه بعد إسقاط السرعة)"],
  by_kind: ["Kind of length", "نوع المد"], ratio: ["Second to first", "الثاني إلى الأول"],
  count_in: ["count in", "العدّ قبل البدء"], pace: ["Counts a minute", "حركة في الدقيقة"], get_ready: ["The recording begins after the count", "يبدأ التسجيل بعد العدّ"],
  hear_there: ["Hear the take there", "اسمع التسجيل هنا"], open_take: ["Open the take", "افتح التسجيل"], no_take_here: ["No take of this passage is chosen to publish.", "لا تسجيل مختار لهذا المقطع."],
  use_in: ["Use in lesson", "استعمله في درس"], use_in_new: ["a new lesson", "درس جديد"], used_in: ["In the lesson now", "أُضيف إلى الدرس"],
  hear_it: ["Hear", "السماع"], play: ["Play", "تشغيل"], not_measured: ["not measured", "لم يُقس"], sound: ["Sound", "الصوت"],
} satisfies Record<string, [string, string]>;

export type Key = keyof typeof words;

// What is counted: one and more of it; in Arabic one, two, few, many, and what is none of these.
const things = {
  counts: [["count", "counts"], ["حركة واحدة", "حركتان", "حركات", "حركة", "حركة"]],
  places: [["place", "places"], ["موضع واحد", "موضعان", "مواضع", "موضعا", "موضع"]],
  words: [["word", "words"], ["كلمة واحدة", "كلمتان", "كلمات", "كلمة", "كلمة"]],
  seconds: [["second", "seconds"], ["ثانية واحدة", "ثانيتان", "ثوان", "ثانية", "ثانية"]],
  verses: [["verse", "verses"], ["آية واحدة", "آيتان", "آيات", "آية", "آية"]],
} satisfies Record<string, [[string, string], [string, string, string, string, string]]>;
export type Thing = keyof typeof things;
export function counted(lang: Lang, n: number, thing: Thing): string {
  const [en, ar] = things[thing];
  if (lang === "en") return `${n} ${en[n === 1 ? 0 : 1]}`;
  const kind = ["one", "two", "few", "many"].indexOf(new Intl.PluralRules("ar").select(n));
  return kind === 0 || kind === 1 ? ar[kind]! : `${n} ${ar[kind] ?? ar[4]}`;
}
export function say(lang: Lang, key: Key): string { return words[key][lang === "ar" ? 1 : 0]; }
