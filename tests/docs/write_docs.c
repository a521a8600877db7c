/* write_docs FOLDER: what docs/ says of files, from the tables that write them: a schema a
 * document, and the lists of fields and columns. refresh.py puts them in their places. */
#include <stdio.h>
#include <stdlib.h>

#include "show/screen/against_screen.h"
#include "show/screen/check_screen.h"
#include "show/screen/clip_screen.h"
#include "show/screen/log_screen.h"
#include "show/screen/plan_screen.h"
#include "show/screen/what_if_screen.h"
#include "show/store/eye_fields.h"
#include "show/store/field_schema.h"
#include "show/store/frame_columns.h"
#include "show/store/session_fields.h"
#include "show/store/take_fields.h"

static const struct fl_document *const documents[] = {
    &fl_take_document,  &fl_session_document, &fl_against_document, &fl_check_document,
    &fl_clip_document,  &fl_plan_document,    &fl_what_if_document, &fl_answers_document,
    &fl_audit_document, &fl_log_document,
};
enum { FILES = 2, DOCUMENTS = sizeof documents / sizeof *documents }; /* files: the first */

static FILE *begin(const char *folder, const char *name, const char *ending)
{
    char path[4096];
    snprintf(path, sizeof path, "%s/%s%s", folder, name, ending);
    FILE *out = fopen(path, "wb");
    if (!out) {
        fprintf(stderr, "%s: cannot be written\n", path);
        exit(1);
    }
    return out;
}

static void put_columns(FILE *out)
{
    size_t n;
    struct fl_frame_column *column = fl_frame_columns(&n);
    fputs("| column | unit | meaning |\n|---|---|---|\n", out);
    for (size_t i = 0; i < n; i++) {
        fprintf(out, "| `%s` | %s | ", column[i].name, column[i].unit);
        fl_put_meaning(out, column[i].meaning);
        fputs(" |\n", out);
    }
    free(column);
}

int main(int argc, char **argv)
{
    if (argc != 2)
        return 2;
    for (size_t i = 0; i < DOCUMENTS; i++) {
        json_t *schema = fl_document_schema(documents[i]);
        FILE *out = begin(argv[1], documents[i]->name, ".schema.json");
        int failed = json_dumpf(schema, out, JSON_INDENT(1));
        fputc('\n', out);
        json_decref(schema);
        if (fclose(out) || failed)
            return 1;
    }
    for (size_t i = 0; i < FILES; i++) {
        FILE *out = begin(argv[1], documents[i]->name, ".list.md");
        fl_document_list(out, documents[i]);
        fclose(out);
    }
    FILE *out = begin(argv[1], "frames", ".list.md");
    put_columns(out);
    return fclose(out) != 0;
}
