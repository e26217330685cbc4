// What the desk says, in both of its languages.
import { hearWords } from "./hear/words";
import { lessonWords } from "./lesson/words";

export type Lang = "en" | "ar";

const words = {
  ...lessonWords,
  ...hearWords,
  text: ["Text", "النص"], find: ["Find", "البحث"], takes: ["Takes", "التسجيلات"], hear: ["Hear", "السماع"],
  lessons: ["Lessons", "الدروس"], course: ["Course", "المنهج"],
  skip: ["To the page", "إلى الصفحة"], other_language: ["العربية", "English"],
  to_dark: ["Dark", "داكن"], to_light: ["Light", "فاتح"], sign_out: ["Sign out", "خروج"], screens: ["Screens", "الصفحات"],
  waiting: ["One moment…", "لحظة…"],
  enter: ["Open the desk", "فتح المكتب"], passphrase: ["Passphrase", "عبارة المرور"],
  enter_by_link: ["Follow the link that the desk printed when it was started. It holds once, for half an hour.",
    "افتح الرابط الذي طبعه البرنامج عند بدئه؛ يصلح مرة واحدة خلال نصف ساعة."],
  link_old: ["This link has been used or is too old. Start the desk again for a new one.",
    "استُعمل هذا الرابط أو انقضت مدته. أعد تشغيل البرنامج للحصول على رابط جديد."],
  passage_or_words: ["A passage, or words to look for", "موضع أو كلمات للبحث"], open: ["Open", "فتح"],
  passage_hint: ["67:1-5, al-Mulk 1-5, juz 30, or a word", "67:1-5 أو الملك 1-5 أو كلمة"],
  sura: ["Sura", "السورة"], before: ["Before", "السابق"], after: ["After", "التالي"],
  found: ["Found", "نتائج البحث"], nothing_found: ["Nothing found.", "لم يوجد شيء."], more_there: ["There is more; a longer query narrows it.", "هناك المزيد؛ زِد كلمات البحث."],
  marks: ["Marks", "العلامات"], all_marks: ["also what is plain to see", "وما هو ظاهر أيضا"],
  none: ["None", "بلا"], all: ["All", "الكل"],
  how: ["How it is read", "وجه القراءة"], counts_word: ["counts", "حركات"],
  muttasil: ["joined lengthening", "المد المتصل"], munfasil: ["parted lengthening", "المد المنفصل"],
  arid: ["before a stop", "العارض للسكون"], lin: ["soft, before a stop", "مد اللين"],
  stops: ["Stops", "الوقف"], at_verses: ["at verse ends", "على رؤوس الآي"], at_signs: ["also at the signs", "وعند علامات الوقف"],
  no_stops: ["nowhere", "بلا وقف"], own_stops: ["as set by hand", "كما وُضعت"],
  stop_after: ["Stop after", "وقف بعد"], clear: ["Close", "إغلاق"],
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
  places: ["places", "موضعا"], words: ["words", "كلمة"], seconds: ["seconds", "ثانية"], verses: ["verses", "آيات"],
  proved: ["no smaller set exists", "ولا توجد مجموعة أصغر"], not_proved: ["the best found in the time", "أفضل ما وُجد في الوقت المتاح"],

  takes_lead: ["A recitation is kept on this machine alone and measured against the reading. The teacher decides.",
    "تُحفظ التلاوة على هذا الجهاز وحده وتُقاس على وجه القراءة، والحكم للمعلم."],
  name: ["Name", "الاسم"], or_file: ["or a sound file", "أو ملف صوتي"], record: ["Record", "تسجيل"], stop_recording: ["Stop and keep", "إيقاف وحفظ"],
  level: ["level of the microphone", "مستوى الصوت"], clipped: ["Too loud: the sound was clipped. Move away from the microphone.", "الصوت عال وقد قُطعت ذراه؛ ابتعد عن اللاقط."],
  browser_refuses: ["The browser changes the sound all the same; lengths and nasal sounds cannot be trusted:", "المتصفح يغيّر الصوت مع ذلك، فلا يوثق بالمدود والغنة:"],
  no_microphone: ["The microphone cannot be used.", "لا يمكن استعمال اللاقط."],
  state_new: ["not listened to yet", "لم يُسمع بعد"], state_waiting: ["waits its turn", "ينتظر دوره"], state_listening: ["listening", "يُسمع الآن"],
  state_heard: ["heard", "سُمع"], state_refused: ["refused", "رُد"], all_takes: ["All takes", "كل التسجيلات"],
  no_takes: ["Nothing recorded yet.", "لا تسجيلات بعد."], take_gone: ["This take is not here any more.", "لم يعد هذا التسجيل هنا."],
  remove: ["Remove", "حذف"], remove_sure: ["Remove for good:", "حذف نهائي:"], listen: ["Listen again", "إعادة السماع"], cancel: ["Cancel", "إلغاء"],
  loop: ["over and over", "تكرار"], speed: ["Speed", "السرعة"], waveform: ["Waveform with words and places", "الموجة مع الكلمات والمواضع"],
  measured_beside: ["Measured beside expected", "المقيس والمتوقع"], site: ["Place", "الموضع"], expected: ["Expected", "المتوقع"], measured: ["Measured", "المقيس"],
  hear_it: ["Hear", "السماع"], play: ["Play", "تشغيل"], not_measured: ["not measured", "لم يُقس"], sound: ["Sound", "الصوت"],
} satisfies Record<string, [string, string]>;

export type Key = keyof typeof words;
export function say(lang: Lang, key: Key): string { return words[key][lang === "ar" ? 1 : 0]; }
