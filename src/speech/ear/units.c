/* units.c – a sound of the reading as the model knows it: which density, which class of length. */
#include "parts.h"

static const struct {
    const char *id;
    enum ear_broad broad;
    enum ear_model_id stand_in;
} models[EAR_MODEL_COUNT] = {
#define X(name, id, broad, stand_in) {id, EAR_BROAD_##broad, EAR_MODEL_##stand_in},
    EAR_MODEL_LIST(X)
#undef X
};

static const struct {
    const char *id, *ar, *en;
} lengths[MST_LENGTH_COUNT] = {
#define X(name, id, ar, en, prior, weight) {id, ar, en},
    MST_LENGTH_LIST(X)
#undef X
};

const char *mst_length_id(enum mst_length length)
{
    return lengths[length].id;
}

const char *mst_length_name(enum mst_length length, enum mst_lang lang)
{
    return lang == MST_LANG_AR ? lengths[length].ar : lengths[length].en;
}

const char *ear_model_name(enum ear_model_id model)
{
    return models[model].id;
}

enum ear_broad ear_model_broad(enum ear_model_id model)
{
    return models[model].broad;
}

enum ear_model_id ear_model_stand_in(enum ear_model_id model)
{
    return models[model].stand_in;
}

int ear_model_is_nasal_hold(enum ear_model_id model)
{
    return model >= EAR_MODEL_NUN_HELD && model <= EAR_MODEL_YA_NASAL;
}

/* How many short vowels' halves a sound takes before anything was heard; used once, to lay the
 * passage evenly between the pauses. */
uint8_t ear_unit_weight(enum ear_model_id model, int cls, int geminate)
{
    if (cls >= MST_LENGTH_MUTTASIL && cls <= MST_LENGTH_LIN)
        return 16;
    if (cls == MST_LENGTH_NATURAL)
        return 5;
    if (ear_model_is_nasal_hold(model))
        return 10;
    return geminate ? 3 : 2;
}

/* Consonants of the engine stand in the same order as ours, from hamza to yāʾ. */
static enum ear_model_id model_of_consonant(enum mst_phone phone)
{
    if (phone == MST_PHONE_HAMZA_EASED)
        return EAR_MODEL_HAMZA;
    return (enum ear_model_id)(EAR_MODEL_HAMZA + (int)phone - (int)MST_PHONE_HAMZA);
}

static enum mst_length length_of_vowel(int rule, int counts)
{
    switch (rule) {
    case MST_RULE_MADD_MUTTASIL:
        return MST_LENGTH_MUTTASIL;
    case MST_RULE_MADD_MUNFASIL:
    case MST_RULE_MADD_SILA_KUBRA:
        return MST_LENGTH_MUNFASIL;
    case MST_RULE_MADD_LAZIM_WORD:
    case MST_RULE_MADD_LAZIM_LETTER:
        return MST_LENGTH_LAZIM;
    case MST_RULE_MADD_ARID:
        return MST_LENGTH_ARID;
    case MST_RULE_MADD_LIN:
        return MST_LENGTH_LIN;
    default:
        return counts > 2 ? MST_LENGTH_MUTTASIL : MST_LENGTH_NATURAL;
    }
}

static enum ear_model_id model_of_long(enum mst_phone phone, int heavy, int extra)
{
    switch (phone) {
    case MST_PHONE_II:
        return extra ? EAR_MODEL_II_EXTRA : EAR_MODEL_II;
    case MST_PHONE_UU:
        return extra ? EAR_MODEL_UU_EXTRA : EAR_MODEL_UU;
    case MST_PHONE_EE:
        return EAR_MODEL_EE;
    default:
        if (extra)
            return heavy ? EAR_MODEL_AA_EXTRA_HEAVY : EAR_MODEL_AA_EXTRA;
        return heavy ? EAR_MODEL_AA_HEAVY : EAR_MODEL_AA;
    }
}

static void consonant(struct ear_unit *u, const struct mst_sound *sound, int rule, int at_stop)
{
    u->model = (uint8_t)model_of_consonant(sound->phone);
    u->geminate = sound->geminate != 0;
    if (sound->geminate && (sound->phone == MST_PHONE_NUN || sound->phone == MST_PHONE_MIM)) {
        u->model = sound->phone == MST_PHONE_NUN ? EAR_MODEL_NUN_HELD : EAR_MODEL_MIM_HELD;
        u->geminate = 0;
        u->cls = at_stop ? MST_LENGTH_GHUNNA_STOP : MST_LENGTH_GHUNNA;
    } else if (sound->counts >= 2 && rule == MST_RULE_MADD_LIN) {
        u->cls = MST_LENGTH_LIN;
    } else if (sound->counts >= 2 && rule == MST_RULE_MADD_LAZIM_LETTER) {
        u->cls = MST_LENGTH_LAZIM; /* the yāʾ of ʿayn among the openings */
    } else if (at_stop) {
        u->cls = MST_LENGTH_FINAL;
    } else if (sound->geminate) {
        u->cls = MST_LENGTH_DOUBLED;
    } else {
        u->cls = (uint8_t)(EAR_CLASS_FIRST_CONSONANT + u->model);
    }
}

struct ear_unit ear_unit_of_sound(const struct mst_sound *sound, int rule, int after_heavy,
                                  int at_stop)
{
    struct ear_unit u = {.phone = (uint8_t)sound->phone};
    int heavy = sound->heavy || after_heavy;
    switch (sound->phone) {
    case MST_PHONE_NUN_HIDDEN:
        u.model = EAR_MODEL_NUN_HIDDEN;
        u.cls = MST_LENGTH_HIDING;
        break;
    case MST_PHONE_MIM_HIDDEN:
        u.model = EAR_MODEL_MIM_HIDDEN;
        u.cls = MST_LENGTH_LIPS;
        break;
    case MST_PHONE_WAW_NASAL:
        u.model = EAR_MODEL_WAW_NASAL;
        u.cls = MST_LENGTH_MERGE_W;
        break;
    case MST_PHONE_YA_NASAL:
        u.model = EAR_MODEL_YA_NASAL;
        u.cls = MST_LENGTH_MERGE_Y;
        break;
    case MST_PHONE_A:
        u.model = heavy ? EAR_MODEL_A_HEAVY : EAR_MODEL_A;
        u.cls = MST_LENGTH_SHORT;
        break;
    case MST_PHONE_I:
    case MST_PHONE_U:
        u.model = sound->phone == MST_PHONE_I ? EAR_MODEL_I : EAR_MODEL_U;
        u.cls = MST_LENGTH_SHORT;
        break;
    case MST_PHONE_AA:
    case MST_PHONE_II:
    case MST_PHONE_UU:
    case MST_PHONE_EE:
        u.cls = (uint8_t)length_of_vowel(rule, sound->counts);
        u.model = (uint8_t)model_of_long(sound->phone, heavy, u.cls != MST_LENGTH_NATURAL);
        break;
    default:
        consonant(&u, sound, rule, at_stop);
    }
    u.weight = ear_unit_weight((enum ear_model_id)u.model, u.cls, u.geminate);
    return u;
}
