/* The page's scripts and their style, made from src/show/page/script by embed.py when flinch is
 * built. */
#ifndef FL_SHOW_PAGE_PAGE_CODE_H
#define FL_SHOW_PAGE_PAGE_CODE_H

/* All NULL where flinch was built without the chart library: the page then has still charts only.
 */
struct fl_page_code {
    const char *early; /* for the head: sets colours before anything is drawn */
    /* chart library with its licence, and the page's own; for the end of the body */
    const char *script;
    const char *style;  /* CSS of what the script adds */
    const char *policy; /* Content-Security-Policy sources that allow just these two scripts */
};
extern const struct fl_page_code fl_page_code;
/* Those of an audit's page, which needs no chart library and is always there. */
extern const struct fl_page_code fl_audit_code;

#endif
