/* Words for who has options before them, not a session file. */
#ifndef FL_SHOW_SCREEN_OPTION_NAMES_H
#define FL_SHOW_SCREEN_OPTION_NAMES_H

/* A key of the session file, or a key with its value, and the option that says the same. */
struct fl_option_name {
    const char *key, *option; /* "horizontal_fov_deg", "--fov" */
};

/* text with each whole word that is a key replaced by its option, malloc'ed; names: closed by NULL,
 * or NULL itself: text as it is. */
char *fl_with_option_names(const char *text, const struct fl_option_name *names);

#endif
