/* Everyday words for what a session file says under another key. */
#ifndef FL_STUDY_INPUT_KEY_SYNONYM_H
#define FL_STUDY_INPUT_KEY_SYNONYM_H

/* What to write instead, as the end of a sentence: "write counts_per_inch, which it is called
 * here". NULL: no such word. Case does not matter, nor whether words are joined by _ or -. Static.
 */
const char *fl_key_synonym(const char *word);

#endif
