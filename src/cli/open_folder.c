/* A folder with bad takes is still worth showing: each is complained of, the others go on. */
#include "cli/open_folder.h"

#include "cli/terminal.h"
#include "show/store/stored_folder.h"

enum flinch_code fl_open_folder(struct fl_session **out, const char *folder, int *bad,
                                struct fl_error *err)
{
    enum flinch_code code = fl_stored_session(out, folder, bad, err);
    for (int i = 0; !code && i < *bad; i++)
        fl_complain((*out)->failed[i].text);
    return code;
}
