/* peers.c – aubio (its MFCC) and PocketSphinx (its decoder of sounds), where they are installed. */
#include "peers.h"

#include "../clock.h"

#include <stdio.h>
#include <stdlib.h>

#ifdef WITH_AUBIO
#include <aubio/aubio.h>

double peer_features_ms(const float *samples, size_t count, const char **what)
{
    enum { WINDOW = 512, HOP = 160, RATE = 16000, FILTERS = 40, CEPSTRA = 13 };
    *what = "aubio, 13 MFCC of 40 filters every 10 ms, no slopes, no normalisation";
    aubio_pvoc_t *pvoc = new_aubio_pvoc(WINDOW, HOP);
    aubio_mfcc_t *mfcc = new_aubio_mfcc(WINDOW, FILTERS, CEPSTRA, RATE);
    cvec_t *spectrum = new_cvec(WINDOW);
    fvec_t *hop = new_fvec(HOP), *cepstra = new_fvec(CEPSTRA);
    double start = used_ms();
    volatile float sink = 0;
    for (size_t t = 0; t + HOP <= count; t += HOP) {
        for (size_t i = 0; i < HOP; i++)
            hop->data[i] = samples[t + i];
        aubio_pvoc_do(pvoc, hop, spectrum);
        aubio_mfcc_do(mfcc, spectrum, cepstra);
        sink = sink + cepstra->data[0];
    }
    double took = used_ms() - start;
    del_fvec(cepstra);
    del_fvec(hop);
    del_cvec(spectrum);
    del_aubio_mfcc(mfcc);
    del_aubio_pvoc(pvoc);
    return took;
}
#else
double peer_features_ms(const float *samples, size_t count, const char **what)
{
    (void)samples;
    (void)count;
    *what = "aubio";
    return -1;
}
#endif

#ifdef WITH_POCKETSPHINX
#include <pocketsphinx.h>
#include <sphinxbase/err.h>

double peer_decoding_ms(const float *samples, size_t count, const char **what)
{
    *what = "PocketSphinx, English sounds in any order (allphone, its own model, beams 1e-20), "
            "features included";
    err_set_logfp(NULL);
    cmd_ln_t *config = cmd_ln_init(NULL, ps_args(), TRUE, "-hmm", WITH_POCKETSPHINX "/en-us/en-us",
                                   "-allphone", WITH_POCKETSPHINX "/en-us/en-us-phone.lm.bin",
                                   "-beam", "1e-20", "-pbeam", "1e-20", "-lw", "2.0", NULL);
    ps_decoder_t *decoder = config ? ps_init(config) : NULL;
    int16 *pcm = malloc((count + 1) * sizeof *pcm);
    double took = -1;
    if (decoder && pcm) {
        for (size_t i = 0; i < count; i++) {
            float x = samples[i] * 32767.0f;
            pcm[i] = (int16)(x > 32767.0f ? 32767.0f : x < -32768.0f ? -32768.0f : x);
        }
        double start = used_ms();
        ps_start_utt(decoder);
        ps_process_raw(decoder, pcm, count, FALSE, TRUE);
        ps_end_utt(decoder);
        took = used_ms() - start;
    }
    free(pcm);
    if (decoder)
        ps_free(decoder);
    if (config)
        cmd_ln_free_r(config);
    return took;
}
#else
double peer_decoding_ms(const float *samples, size_t count, const char **what)
{
    (void)samples;
    (void)count;
    *what = "PocketSphinx";
    return -1;
}
#endif
