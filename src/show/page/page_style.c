/* The page's style sheet; colours come from the palette. */
#include "show/draw/palette.h"
#include "show/page/page.h"

static const char style[] =
    "*{box-sizing:border-box}\n"
    "html{background:var(--ground);color:var(--ink);font:16px/1.55 Inter,\"DejaVu "
    "Sans\",system-ui,sans-serif;"
    "-webkit-text-size-adjust:100%;color-scheme:light dark}\n"
    "html[data-colours=light]{color-scheme:light}html[data-colours=dark]{color-scheme:dark}\n"
    "body{margin:0 auto;max-width:58rem;padding:1.5rem 1.25rem 4rem;overflow-wrap:anywhere}\n"
    "h1{font-size:1.9rem;line-height:1.2;margin:.4rem 0 .3rem;letter-spacing:-.015em}\n"
    "h2{font-size:1.3rem;margin:3rem 0 .8rem;padding-top:.9rem;border-top:2px solid var(--ink)}\n"
    "h3{font-size:1.08rem;margin:1.8rem 0 .4rem}\n"
    "h4{font-size:.95rem;margin:1.2rem 0 .3rem}\n"
    "p,ul,ol,dl{margin:.5rem 0}\n"
    "a{color:var(--series-1)}\n"
    "nav{display:flex;flex-wrap:wrap;gap:.2rem 1.1rem;margin:1rem 0;font-size:.92rem}\n"
    ".opening{margin-top:1.1rem;padding-top:0;border-top:0}\n"
    ".lead{color:var(--muted);margin:0}\n"
    ".care{font-size:.88rem;color:var(--muted);border-left:3px solid "
    "var(--rule);padding-left:.8rem;margin:1rem 0}\n"
    ".brief table{font-size:.81rem}.brief td,.brief th{padding:.2rem .35rem}\n"
    ".brief small{color:var(--muted);font-size:.93em}\n"
    ".brief thead th.n{min-width:4.9rem}\n"
    ".brief td.why{white-space:normal;min-width:7.5rem}\n"
    ".small{font-size:.86rem;color:var(--muted)}\n"
    ".mind{background:var(--off-soft);border-left:4px solid var(--off);padding:.5rem .8rem}\n"
    ".answer{background:var(--paper);border:1px solid var(--rule);border-radius:6px;padding:.9rem "
    "1.1rem;margin:.9rem 0}\n"
    ".answer h3{margin-top:0}\n"
    ".answer h4{margin-top:.9rem;color:var(--muted);font-weight:600}\n"
    ".answer dl{display:grid;grid-template-columns:9.5rem 1fr;gap:.45rem 1rem;margin:.3rem 0}\n"
    ".answer dt{font-weight:600}\n"
    ".answer dd{margin:0}.answer dd p{margin:0 0 .45rem}\n"
    ".notes{padding-left:1.2rem}\n"
    ".notes li{margin:.35rem 0}\n"
    "figure{margin:1rem 0;background:var(--paper);border:1px solid "
    "var(--rule);border-radius:6px;padding:.6rem;"
    "break-inside:avoid}\n"
    "figure svg{display:block;width:100%;height:auto}\n"
    "figure svg.phone{display:none}\n"
    ".roll{overflow-x:auto}.roll svg{min-width:40rem}\n"
    "figcaption{font-size:.86rem;color:var(--muted);padding:.3rem .4rem 0}\n"
    "blockquote{margin:.6rem 0;padding:.2rem 0 .2rem 1rem;border-left:3px solid var(--rule)}\n"
    "figcaption strong{color:var(--ink)}\n"
    ".table{overflow-x:auto;margin:.6rem 0;border:1px solid "
    "var(--rule);border-radius:6px;background:var(--paper)}\n"
    ".table.tall{max-height:24rem;overflow-y:auto}\n"
    "table{border-collapse:collapse;font-size:.84rem;line-height:1.4;width:100%;overflow-wrap:"
    "normal}\n"
    "th,td{padding:.35rem .65rem;text-align:left;vertical-align:top;border-bottom:1px solid "
    "var(--rule)}\n"
    "tbody tr:last-child>*{border-bottom:0}\n"
    "thead th{color:var(--muted);font-weight:600;vertical-align:bottom}\n"
    ".n{text-align:right;font-variant-numeric:tabular-nums}\n"
    ".data td{white-space:nowrap}\n"
    ".data td.wide{white-space:normal;min-width:26rem}\n"
    "tbody th{font-weight:500;color:var(--muted);width:32%}\n"
    "details{margin:.6rem 0}\n"
    "summary{cursor:pointer;font-size:.92rem;color:var(--series-1);padding:.2rem 0}\n"
    "code{font-size:.9em}\n"
    ":focus-visible{outline:2px solid var(--series-1);outline-offset:2px}\n"
    "footer{margin-top:3rem;color:var(--muted);font-size:.86rem}\n"
    "@media (max-width:40rem){body{padding:1rem .8rem "
    "3rem}h1{font-size:1.5rem}.answer{padding:.8rem}"
    ".answer dl{grid-template-columns:1fr;gap:.1rem}.answer "
    "dd{margin-bottom:.5rem}figure{padding:.25rem}"
    "figure svg.wide{display:none}figure svg.phone{display:block}}\n";

/* Paper does not scroll: what is wide shrinks and wraps. Links and what only a screen can do go. */
static const char paper[] =
    "@page{margin:1.5cm}\n"
    "@media print{html{font-size:10pt;background:none}body{max-width:none;padding:0}"
    "nav,.on-screen,.mind a,details:not([open]){display:none}"
    "a{color:inherit;text-decoration:none}summary{color:inherit;font-weight:600;list-style:none}"
    "h2{margin-top:1.6rem}h2,h3,summary{break-after:avoid}p,li{orphans:3;widows:3}"
    ".answer{break-inside:auto}.answer dd,tr{break-inside:avoid}"
    ".table,.table.tall{overflow:visible;max-height:none;border:0}"
    "table{font-size:7pt}th,td{padding:.15rem .3rem}.data td,.data td.wide{white-space:normal;"
    "min-width:0;overflow-wrap:break-word}.data td.wide{min-width:6cm}"
    ".brief .data td:not(.why){white-space:nowrap}.brief thead th.n{min-width:0}"
    ".roll{overflow:visible}.roll svg{min-width:0}"
    "figure svg{max-height:9cm}figure svg.wide{display:block}figure svg.phone{display:none}}\n";

static void put_colours(FILE *out, bool dark)
{
    fprintf(out, "--ground:%s;", dark ? "#0f1216" : "#f3f3f0");
    for (int i = 0; i < FL_COLOURS; i++)
        fprintf(out, "--%s:#%06x;", fl_palette[i].name,
                dark ? fl_palette[i].dark : fl_palette[i].light);
}

void fl_page_style(FILE *out)
{
    fputs("<style>\n:root{", out);
    put_colours(out, false);
    /* Paper is light whatever the screen is. */
    fputs("}\n@media screen and (prefers-color-scheme:dark){:root:not([data-colours=light]){", out);
    put_colours(out, true);
    fputs("}}\n@media screen{:root[data-colours=dark]{", out);
    put_colours(out, true);
    fputs("}}\n", out);
    fputs(style, out);
    fputs(paper, out);
    fputs("</style>\n", out);
}
