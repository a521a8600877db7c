/* What the figures mean, in the page's own words. */
#include <stdlib.h>

#include "base/mem.h"
#include "show/chart/chart.h"
#include "show/page/page.h"
#include "show/text/escape.h"
#include "study/compare/result.h"

/* In parts: C compilers need not take strings over 4095 bytes. */
static const char *const method[] = {
    "<h2 id=\"method\">How each figure was found</h2>\n"
    "<p>Everything here was measured from the recorded picture and, where there is one, the "
    "recorded mouse input. "
    "The game was not asked.</p>\n"
    "<dl class=\"method\">\n"
    "<dt><strong>Frame synthesis, on and off</strong></dt><dd>The feature inserts made-up frames, "
    "one to three, between every two rendered ones. While it is on, two to four times as many "
    "different frames per second reach the screen as the game renders; while it is off, only those "
    "that it renders. Each capture frame was split into bands of "
    "rows, and for each "
    "band it was found whether and how far it moved since the frame before; from this come the "
    "instants at which new "
    "frames appear (flips) and their rate (unique rate).</dd>\n"
    "<dt><strong>Unseen</strong></dt><dd>Where nothing moves enough, new frames look like old "
    "ones, and on and off "
    "look alike. Such time is kept apart, and no state is called in it. Of turning, the share "
    "counts it as what is inferred of it, and has its range beside: all unseen turning on, or all "
    "of it off. Of a recording, "
    "unseen time is settled by what moved in it: on where nothing moved that trips the cut-off, "
    "off from a lapse’s last sure moment until the setting’s own rule returns, else left open. "
    "Its interval covers the rules that agree as well.</dd>\n"
    "<dt><strong>Lapse</strong></dt><dd>A longest stretch of off with on before or after it in the "
    "same take. Its edges "
    "are given with brackets: the last instant sure on one side, the first sure on the "
    "other.</dd>\n"
    "<dt><strong>Camera speed</strong></dt><dd>Degrees per second: mouse counts per second times "
    "degrees per count, "
    "else the shift of the picture with the field of view, averaged over one base period (rendered "
    "frame) with the "
    "feature on; a flick's peak is of means over 16.7 ms, so that games of unlike frame rates can "
    "be "
    "compared. Mouse times are mapped onto footage times by matching mouse motion with picture "
    "motion; where the match "
    "is weak it is refused, and no figure from the mouse is given.</dd>\n"
    "<dt><strong>Flick</strong></dt><dd>One burst of fast motion, from rest to rest. It counts for "
    "the trip curve if the "
    "feature was on as it began and the outcome could be seen.</dd>\n"
    "<dt><strong>Trip speed V50</strong></dt><dd>The peak speed at which a flick has an even "
    "chance to switch the feature off: a logistic curve on the logarithm of speed, in one model of "
    "all takes of the session. Each setting has its own spread between takes, so that an erratic "
    "game borrows no certainty from calm ones; slopes lean on each other in part. Intervals hold "
    "95&nbsp;% of what is left possible. One take leads with its own, as where another would lie "
    "is "
    "hardly known. A second opinion, Firth’s penalised likelihood (1993), is given where it "
    "differs. If no flick or every flick tripped, V50 is a bound, drawn open: the speed of the "
    "fifth-fastest "
    "(fifth-slowest) flick, since the "
    "chance that five such flicks all fall on one side of an even chance is 3&nbsp;%.</dd>\n"
    "<dt><strong>Ranking and comparisons</strong></dt><dd>A row is one game, condition, mouse "
    "resolution and sensitivity; what differs is not averaged. A row has the places that "
    "its V50 interval leaves it: where two overlap, they share one. Testers never move twice "
    "alike, "
    "so comparisons of off shares are "
    "standardised to the flicks that the compared takes have in common; where there is no common "
    "range, or one side is a drill and the other play, they are refused. Two settings are said to "
    "differ when the interval of their "
    "V50 ratio excludes 1 "
    "after Holm’s adjustment for the number of comparisons in the session; each needs at least two "
    "takes.</dd>\n", /* next part */
    "<dt><strong>Cut-off rule</strong></dt><dd>Off once the quantity stayed above one threshold "
    "for one delay, on again once "
    "it stayed below another for another: fitted so that rule and seen states disagree for the "
    "least time, outside the brackets "
    "of the lapses. It is judged on takes left out of the fit. Intervals come from takes (from "
    "six) or takes and flicks "
    "(fewer) drawn anew, and always hold the rules that agree as well but for one rendered frame. "
    "Delays are footage time, "
    "which takes the delay from hand to picture with the feature on as 0; they come in whole "
    "rendered frames.</dd>\n"
    "<dt><strong>Delay to trip and to return</strong></dt><dd>From crossing the rule’s thresholds. "
    "Where every edge is known "
    "to a rendered frame: Kaplan and Meier; else Turnbull’s estimate from brackets. A hand that "
    "crosses back first ends the "
    "wait without a trip or return, and is counted apart.</dd>\n"
    "<dt><strong>Smoothness</strong></dt><dd>Mean and 1st percentile of the unique rate in windows "
    "of 0.25 s of seen time; "
    "motion means camera speed above 25 deg/s.</dd>\n"
    "<dt><strong>What cannot be known</strong></dt><dd>States where both rates exceed what the "
    "footage can show; tears that "
    "stand still because output and capture rate nearly agree; how many made-up frames follow "
    "each rendered one where steps of the picture do not tell.</dd>\n"
    "</dl>\n"};

/* A paragraph to stand under an article as it is. */
static void put_quotable(FILE *out, const struct fl_session *s)
{
    size_t controls = 0, flicks = 0, settings = 0, least = 0, most = 0;
    double minutes = 0;
    for (size_t i = 0; i < s->n_takes; i++) {
        controls += s->takes[i]->spec.synthesis_disabled;
        flicks += s->takes[i]->n_flicks;
        minutes += s->takes[i]->duration_s / 60;
    }
    for (size_t i = 0; i < s->n_results; i++) {
        const struct fl_result *r = &s->results[i];
        if (r->control)
            continue;
        least = settings++ && least < r->takes ? least : r->takes;
        most = r->takes > most ? r->takes : most;
    }
    char *source = fl_chart_source((const struct fl_take *const *)s->takes, s->n_takes, NULL),
         *each = least < most ? fl_format("%zu to %zu takes", least, most)
                              : fl_format("%zu take%s", most, most == 1 ? "" : "s");
    fputs("<h2 id=\"quote\">How this was measured, to be quoted</h2>\n<blockquote>", out);
    fprintf(out,
            "Measured with flinch " FLINCH_VERSION " from %zu recordings (%.0f minutes, %zu turns "
            "of the camera) in %zu setting%s of %s each%s. ",
            s->n_takes, minutes, flicks, settings, settings == 1 ? "" : "s", each,
            controls ? ", with the feature disabled in others as a control" : "");
    fl_put_markup(out, source);
    fputs(" Whether frame synthesis was on is seen from the rate at which new pictures reach the "
          "screen. “Off while turning” is its share of the time in which the camera turned; of a "
          "recording, time in which nothing moved counts as on unless a stretch of off goes on "
          "through it. The trip speed is the peak at which a turn has an even chance to switch it "
          "off; its 95 % interval covers how takes differ.</blockquote>\n",
          out);
    free(source);
    free(each);
}

void fl_page_method(FILE *out, const struct fl_session *s)
{
    if (s->n_takes)
        put_quotable(out, s);
    for (size_t i = 0; i < sizeof method / sizeof *method; i++)
        fputs(method[i], out);
}
