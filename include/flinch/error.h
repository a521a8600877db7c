/* Error codes of flinch. */
#ifndef FLINCH_ERROR_H
#define FLINCH_ERROR_H

#ifdef __cplusplus
extern "C" {
#endif

enum flinch_code {
    FLINCH_OK = 0,
    FLINCH_ERR_USAGE,       /* wrong argument, option or setting */
    FLINCH_ERR_SESSION,     /* session file unreadable or invalid */
    FLINCH_ERR_OPEN,        /* a file cannot be opened or created */
    FLINCH_ERR_FORMAT,      /* a file is not what it should be */
    FLINCH_ERR_EMPTY,       /* nothing to measure in a file */
    FLINCH_ERR_WRITE,       /* writing failed: disk full, no permission */
    FLINCH_ERR_UNSUPPORTED, /* valid, but not supported */
    FLINCH_ERR_NUMERIC,     /* no number can be given for these data */
    FLINCH_ERR_INTERRUPTED, /* stopped on request */
    FLINCH_ERR_COUNT
};

/* A short fixed English text for any code; "unknown error" outside the range. */
const char *flinch_error_text(enum flinch_code code);

#ifdef __cplusplus
}
#endif
#endif
