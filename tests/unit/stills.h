/* Pictures for tests: open photographs from Debian packages, and made-up textures. */
#ifndef FL_STILLS_H
#define FL_STILLS_H

#include <stdbool.h>
#include <stdint.h>

struct still {
    int width, height;
    uint8_t *luma; /* row-major, malloc'ed; NULL: the package is not installed */
};

/* Both from python3-scipy: a raccoon, 1024×768, in BT.709 luma, and a staircase, 512×512. */
struct still still_raccoon(void);
struct still still_staircase(void);
/* Random grey levels, smoothed by a box of `grain` px (0: every pixel by itself), wrapping round,
 * stretched to a standard deviation of about 40 about 128. */
struct still still_texture(int width, int height, int grain, uint64_t seed);
/* The part at (x, y), wrapping round. */
struct still still_part(const struct still *s, int x, int y, int width, int height);
void still_free(struct still *s);

#endif
