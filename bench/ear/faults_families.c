#include "faults_families.h"

#include <string.h>

/* Ids as in data/faults/default.faults. A hold without the nose is no splice: see faults_pinch.c.
 */
static const struct {
    const char *name, *ids[8];
} families[FAMILY_COUNT] = {
    {"ḥāʾ, hāʾ", {"hh_as_h", "h_as_hh"}},
    {"ʿayn, hamza", {"ayn_as_hamza", "hamza_as_ayn"}},
    {"qāf, kāf", {"q_as_k", "k_as_q"}},
    {"ṣād, sīn", {"ss_as_s", "s_as_ss"}},
    {"ṭāʾ, tāʾ", {"tt_as_t", "t_as_tt"}},
    {"ḍād, dāl, ẓāʾ", {"dd_as_d", "dd_as_zz", "zz_as_dd", "zz_as_z"}},
    {"dhāl, zāy, dāl", {"dh_as_z", "dh_as_d"}},
    {"thāʾ, sīn, tāʾ", {"th_as_s", "th_as_t"}},
    {"ghayn, khāʾ, ḥāʾ", {"gh_as_kh", "kh_as_gh", "kh_as_hh"}},
    {"long vowel short", {"aa_short", "ii_short", "uu_short"}},
    {"short vowel long", {"a_long", "i_long", "u_long"}},
    {"vowel exchanged", {"a_as_i", "i_as_a", "u_as_a", "u_as_i", "i_as_u", "a_as_u"}},
    {"double as single", {"double_as_single", "ghunna_as_single"}},
    {"single as double", {"single_as_double"}},
    {"hidden nūn clear", {"hidden_as_n"}},
    {"clear nūn hidden", {"clear_n_as_hidden"}},
    {"turned nūn clear", {"turned_as_n"}},
    {"merged nūn clear",
     {"merged_y_as_n", "merged_w_as_n", "merged_m_as_n", "merged_l_as_n", "merged_r_as_n",
      "article_l_kept"}},
    {"vowel after echo", {"vowel_after_echo"}},
    {"heavy, light",
     {"heavy_r_light", "light_r_heavy", "heavy_l_light", "light_l_heavy", "heavy_letter_light"}},
};

int family_of(const char *id)
{
    for (int f = 0; f < FAMILY_COUNT; f++)
        for (int i = 0; i < 8 && families[f].ids[i]; i++)
            if (strcmp(families[f].ids[i], id) == 0)
                return f;
    return -1;
}

const char *family_name(int family)
{
    return families[family].name;
}
