/* What a command was asked for, beside what it prints as JSON: an option a field, by its table. */
#include "cli/option_echo.h"

#include "show/store/fields.h"
#include "show/store/json_value.h"

json_t *fl_options_echo(const struct fl_option *table, const void *settings)
{
    json_t *echo = json_object();
    struct fl_option_walk at = {.next = table};
    while (fl_option_next(&at)) {
        const void *field = (const char *)settings + at.offset;
        json_t *value = NULL;
        if (at.option->type == FL_OPTION_FLAG)
            value = json_boolean(*(const bool *)field);
        else if (at.option->type == FL_OPTION_WHOLE)
            value = json_integer(*(const int *)field);
        else if (at.option->type == FL_OPTION_NUMBER)
            value = json_real(*(const double *)field);
        else
            value = fl_json_text(*(const char *const *)field);
        fl_json_set(echo, at.option->name, value);
    }
    return echo;
}
