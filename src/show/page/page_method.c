#include "show/page/page.h"

/* In parts: C compilers need not take strings over 4095 bytes. */
static const char *const method[] = {
    "<h2 id=\"method\">How each figure was found</h2>\n"
    "<p>Everything here was measured from the recorded picture and, where there is one, the recorded mouse input. "
    "The game was not asked.</p>\n"
    "<dl class=\"method\">\n"
    "<dt><strong>Frame synthesis, on and off</strong></dt><dd>The feature inserts one made-up frame between every two "
    "rendered ones. While it is on, twice as many different frames per second reach the screen as the game renders; "
    "while it is off, that rate falls to about half. Each capture frame was split into bands of rows, and for each "
    "band it was found whether and how far it moved since the frame before; from this come the instants at which new "
    "frames appear (flips) and their rate (unique rate).</dd>\n"
    "<dt><strong>Unseen</strong></dt><dd>Where nothing moves enough, new frames look like old ones, and on and off "
    "cannot be told. Such time is kept apart and never counted as on. Every off share is therefore given with its range: "
    "all unseen time on, or all of it off.</dd>\n"
    "<dt><strong>Lapse</strong></dt><dd>A longest stretch of off with on before or after it in the same take. Its edges "
    "are given with brackets: the last instant sure on one side, the first sure on the other.</dd>\n"
    "<dt><strong>Camera speed</strong></dt><dd>Degrees per second: mouse counts per second times degrees per count, "
    "else the shift of the picture with the field of view, averaged over one base period (rendered frame) with the "
    "feature on. Mouse times are mapped onto footage times by matching mouse motion with picture motion; where the match "
    "is weak it is refused, and no figure from the mouse is given.</dd>\n"
    "<dt><strong>Flick</strong></dt><dd>One burst of fast motion, from rest to rest. It counts for the trip curve if the "
    "feature was on as it began and the outcome could be seen.</dd>\n"
    "<dt><strong>Trip speed V50</strong></dt><dd>The peak speed at which a flick has an even chance to switch the feature "
    "off: a logistic curve on the logarithm of speed, fitted by penalised likelihood (Firth 1993), which also holds when "
    "slow and fast flicks are cleanly separated. Intervals are 95&nbsp;% and the wider of two: the profile of the penalised "
    "likelihood, and the spread between takes (Student’s t for two to five takes, resampled takes from six). If no flick or "
    "every flick tripped, V50 is a bound, drawn open: the speed of the fifth-fastest (fifth-slowest) flick, since the "
    "chance that five such flicks all fall on one side of an even chance is 3&nbsp;%.</dd>\n"
    "<dt><strong>Ranking and comparisons</strong></dt><dd>Testers never move twice alike, so off shares are standardised "
    "to the flicks that the compared takes have in common; where there is no common range this is refused and the share "
    "as measured is shown with a star. Two settings are said to differ when the interval of their V50 ratio excludes 1 "
    "after Holm’s adjustment for the number of comparisons in the session; each needs at least two takes.</dd>\n"
    , /* next part */
    "<dt><strong>Cut-off rule</strong></dt><dd>Off once the quantity stayed above one threshold for one delay, on again once "
    "it stayed below another for another: fitted so that rule and seen states disagree for the least time, outside the brackets "
    "of the lapses. It is judged on takes left out of the fit. Intervals come from takes (from six) or takes and flicks "
    "(fewer) drawn anew, and always hold the rules that agree as well but for one rendered frame. Delays are footage time, "
    "which takes the delay from hand to picture with the feature on as 0; they come in whole rendered frames.</dd>\n"
    "<dt><strong>Delay to trip and to return</strong></dt><dd>From crossing the rule’s thresholds. Where every edge is known "
    "to a rendered frame: Kaplan and Meier; else Turnbull’s estimate from brackets. A hand that crosses back first ends the "
    "wait without a trip or return, and is counted apart.</dd>\n"
    "<dt><strong>Smoothness</strong></dt><dd>Mean and 1st percentile of the unique rate in windows of 0.25 s of seen time; "
    "motion means camera speed above 25 deg/s.</dd>\n"
    "<dt><strong>What cannot be known</strong></dt><dd>States where both rates exceed what the footage can show; tears that "
    "stand still because output and capture rate nearly agree; more than one made-up frame per rendered frame.</dd>\n"
    "</dl>\n"};

void fl_page_method(FILE *out)
{
    for (size_t i = 0; i < sizeof method / sizeof *method; i++)
        fputs(method[i], out);
}
