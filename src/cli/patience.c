/* patience.c – work that takes a while: a line of progress, and Ctrl-C that ends it in good order.
 */
#include "cli.h"

#include <signal.h>
#include <stdio.h>
#include <unistd.h>

/* A signal handler has nowhere else to write to. */
static volatile sig_atomic_t interrupted;

static void interrupt(int signal_number)
{
    (void)signal_number;
    interrupted = 1;
}

void patience_begin(struct patience *patience)
{
    *patience = (struct patience){.shown = -1, .to = 1};
    struct sigaction action = {.sa_handler = interrupt};
    sigemptyset(&action.sa_mask);
    action.sa_flags = (int)(SA_RESTART | SA_RESETHAND); /* a second Ctrl-C ends it at once */
    sigaction(SIGINT, &action, NULL);
    sigaction(SIGTERM, &action, NULL);
}

static int report(void *user, double done)
{
    struct patience *p = user;
    int percent = (int)(100 * (p->from + done * (p->to - p->from)));
    if (isatty(STDERR_FILENO) && percent > p->shown) {
        p->shown = percent;
        fprintf(stderr, "\r%s … %d %%\033[K", p->doing, percent);
        fflush(stderr);
    }
    return interrupted;
}

struct mst_ear_progress patience_for(struct patience *patience, const char *doing, double from,
                                     double to)
{
    patience->doing = doing;
    patience->from = from;
    patience->to = to;
    return (struct mst_ear_progress){report, patience};
}

void patience_end(struct patience *patience)
{
    if (patience->shown >= 0) {
        fprintf(stderr, "\r\033[K");
        fflush(stderr);
    }
    patience->shown = -1;
    signal(SIGINT, SIG_DFL);
    signal(SIGTERM, SIG_DFL);
}
