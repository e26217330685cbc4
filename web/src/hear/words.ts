// The words of the screen Hear. What can be noted at any letter is named by what the ear met there,
// not by a rule: the rule's own faults come from the server.
export const hearWords = {
  hear_lead: ["While someone recites: tap the letter, then what you heard there. Everything is kept with its date; whether it was wrong is for you to say.",
    "أثناء التلاوة: انقر الحرف ثم ما سمعته عنده. ويُحفظ كل شيء بتاريخه، والحكم لك."],
  who: ["Who recites", "القارئ"], learner_hint: ["Learner 1", "القارئ 1"],
  what_was_heard: ["What was heard", "ما سُمع"], tap_letter: ["Tap a letter.", "انقر حرفا."],
  often_here: ["Often so at this letter", "مما يكثر عند هذا الحرف"], anywhere: ["At any letter", "عند أي حرف"],
  heard_letter: ["another letter", "حرف آخر"], heard_vowel: ["another vowel", "حركة أخرى"], heard_short: ["too short", "أقصر"], heard_long: ["too long", "أطول"],
  heard_nasal: ["nasal sound", "الغنة"], heard_echo: ["echo", "القلقلة"], heard_heavy: ["too heavy", "تفخيم زائد"], heard_light: ["too light", "ترقيق زائد"],
  heard_double: ["doubling", "الشدة"], heard_left_out: ["left out", "سقط"], heard_added: ["added", "زيادة"], heard_stop: ["stop or start", "الوقف والابتداء"],
  heard_well: ["well done", "أحسن"], heard_other: ["see the note", "انظر الملاحظة"],
  undo_last: ["Undo the last", "تراجع عن الأخير"], noted_now: ["Noted today", "ملاحظات اليوم"], nothing_noted: ["Nothing noted yet.", "لا ملاحظات بعد."],
  earlier: ["Earlier hearings", "مجالس سابقة"], noted_then: ["Noted on", "ملاحظات يوم"], back_to_today: ["Back to today", "العودة إلى اليوم"],
  not_sent: ["not yet with the desk; kept in this browser and sent as soon as it can be", "لم تصل بعد إلى المكتب؛ محفوظة في هذا المتصفح وتُرسل حالما أمكن"],
  note_for: ["Note", "ملاحظة"], take_back: ["Take back", "سحب"], nobody: ["nobody named", "بلا اسم"], places_noted: ["noted", "ملاحظة"],
  hear_keys: ["With the keyboard: arrows go from word to word, Enter takes the word, the figures note, U takes the last back.",
    "من لوحة المفاتيح: الأسهم للتنقل بين الكلمات، وEnter لاختيار الكلمة، والأرقام للملاحظة، وU للتراجع."],
} satisfies Record<string, [string, string]>;
