/* write_audit FOLDER plain | hostile: an audit's page with invented pictures, for tests in a
 * browser. Each moment's cells are of one grey, lighter from moment to moment, so that each is
 * known again. */
#include <stdlib.h>
#include <string.h>

#include "audit_take.h"
#include "base/file.h"
#include "media/png.h"
#include "show/page/audit_page.h"
#include "study/compare/audit_draw.h"

enum { MOMENTS = 9, CELLS = 9, WIDTH = 40, HEIGHT = 24 };

static struct fl_session *session(const char *name, const char *id)
{
    struct audit_stretch v[24];
    for (int i = 0; i < 24; i++)
        v[i] = (struct audit_stretch){1.0 * (i + 1), i % 2 ? FL_STATE_OFF : FL_STATE_ON};
    struct fl_session *s = fl_session_new(name);
    fl_session_add(s, audit_take(id, v, 24, 100));
    s->takes[0]->key = "00112233445566778899aabbccddeeff00112233445566778899aabbccddeeff";
    return s;
}

static enum flinch_code paint(struct fl_audit_picture *p, const struct fl_audit_moment *m,
                              int number, struct fl_error *err)
{
    enum { PIXELS = CELLS * WIDTH * 2 * HEIGHT };
    uint8_t index[PIXELS];
    uint32_t palette[256];
    for (uint32_t i = 0; i < 256; i++)
        palette[i] = i << 16 | i << 8 | i;
    for (int k = 0; k < PIXELS; k++)
        index[k] = (uint8_t)(k / (CELLS * WIDTH) < HEIGHT ? 20 + 20 * number : 250);
    *p = (struct fl_audit_picture){.first = m->frame - CELLS / 2,
                                   .n = CELLS,
                                   .at = CELLS / 2,
                                   .width = WIDTH,
                                   .height = HEIGHT};
    return fl_png_encode(index, CELLS * WIDTH, 2 * HEIGHT, palette, &p->png, &p->size, err);
}

static enum flinch_code write_page(const char *folder, const struct fl_session *s,
                                   struct fl_error *err)
{
    struct fl_audit_ground g;
    struct fl_audit_moment m[MOMENTS];
    struct fl_audit_picture p[MOMENTS] = {0};
    struct fl_file file;
    char *path = fl_path_join(folder, "audit.html");
    fl_audit_ground_find(&g, s);
    const size_t n = fl_audit_draw(m, &g, MOMENTS, 1);
    enum flinch_code code = fl_make_folder(folder, err);
    for (size_t i = 0; i < n && !code; i++)
        code = paint(&p[i], &m[i], (int)i, err);
    if (!code)
        code = fl_file_begin(&file, path, err);
    if (!code) {
        fl_audit_page_write(file.stream, s, m, p, n, 1);
        code = fl_file_commit(&file, err);
    }
    fl_audit_pictures_finish(p, n);
    fl_audit_ground_finish(&g);
    free(path);
    return code;
}

int main(int argc, char **argv)
{
    struct fl_error err = {0};
    if (argc != 3)
        return 2;
    const bool hostile = !strcmp(argv[2], "hostile");
    struct fl_session *s =
        session(hostile ? "</title><script>window.broken=1</script>" : "Invented survey",
                hostile ? "\"'</script><script>window.broken=1</script>" : "canyon-a");
    enum flinch_code code = write_page(argv[1], s, &err);
    fl_session_free(&s);
    if (code)
        fprintf(stderr, "write_audit: %s\n", err.text);
    return code != FLINCH_OK;
}
