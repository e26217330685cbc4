/* commands.c – backup, restore, export, check and class: what they take and how they explain it. */
#include "book.h"

#define TARGET(field) offsetof(struct book_request, field)
#define DATA                                                                                       \
    {                                                                                              \
        "data", 0, OPTION_TEXT, "FOLDER", "where everything is kept", TARGET(data)                 \
    }

static const struct option_row backup_rows[] = {
    DATA,
    {"list", 0, OPTION_FLAG, NULL, "the backups the book knows of", TARGET(list)},
    {"forget", 0, OPTION_FLAG, NULL, "this backup was destroyed: receipts need not name it",
     TARGET(forget)},
};
static const struct option_group backup_group = {"The backup:", backup_rows,
                                                 sizeof backup_rows / sizeof backup_rows[0]};
const struct command command_backup = {
    .name = "backup",
    .arguments = "FILE",
    .asks = "a file to make, for example: mistara backup thursday.tar",
    .summary = "the whole book as one file, also while the desk is open",
    .about =
        "Writes everything that is kept into one file (tar): the rows, the recordings, reports,\n"
        "voices and what was made from them, as they are at one moment; the desk goes on\n"
        "meanwhile. Any program reads it; SUMS in it has the BLAKE2b-256 of each file. The book\n"
        "remembers its name: the receipt of a learner who is deleted says which backups still\n"
        "hold them. Keep it where you would keep the recordings themselves.",
    .examples = "  mistara backup thursday.tar\n"
                "  mistara backup --list                     which there are\n"
                "  mistara backup --forget thursday.tar      once it is destroyed\n",
    .groups = {&backup_group},
    .run = book_run,
};

const struct command command_restore = {
    .name = "restore",
    .arguments = "FILE FOLDER",
    .asks = "a backup and a new folder, for example: mistara restore thursday.tar again",
    .summary = "a backup becomes a data folder again",
    .about = "Makes the folder, which must be new or empty, from a backup, and looks through it.\n"
             "A file that was cut off, damaged or tampered with is refused, and nothing is left\n"
             "of the attempt. Nobody is signed in afterwards and no card opens: print new ones.",
    .examples = "  mistara restore thursday.tar again\n"
                "  mistara serve --data again\n",
    .run = book_run,
};

static const struct option_row export_rows[] = {
    DATA,
    {"class", 0, OPTION_TEXT, "CLASS", "only this class (name or id)", TARGET(class_name)},
    {"person", 0, OPTION_TEXT, "PERSON", "only this person (label or id)", TARGET(person)},
};
static const struct option_group export_group = {"What goes out:", export_rows,
                                                 sizeof export_rows / sizeof export_rows[0]};
const struct command command_export = {
    .name = "export",
    .arguments = "FOLDER|FILE.tar",
    .asks = "a folder or a file to make, for example: mistara export out",
    .summary = "everything in open formats: CSV, JSON Lines, sound as recorded",
    .about =
        "Writes each table as CSV (for spreadsheets) and as JSON Lines (for programs), and every\n"
        "recording as it was received. All of it, or what concerns one class or one person: a\n"
        "learner may ask what is kept about them. CSV cells never begin a formula.",
    .examples = "  mistara export out\n"
                "  mistara export out --class \"Thursday evening\"\n"
                "  mistara export learner.tar --person \"Learner 1\"\n",
    .groups = {&export_group},
    .run = book_run,
};

static const struct option_row check_rows[] = {DATA};
static const struct option_group check_group = {"The book:", check_rows, 1};
const struct command command_check = {
    .name = "check",
    .arguments = "",
    .summary = "is the book whole? its database and every recording",
    .about = "Looks through the data folder: the database by its own check, every reference, and\n"
             "whether each recording is there and is what it was when it came. Says what is\n"
             "missing or damaged; changes nothing. The desk may be open.",
    .examples = "  mistara check\n"
                "  mistara check --data again\n",
    .groups = {&check_group},
    .run = book_run,
};

static const struct option_row class_rows[] = {
    DATA,
    {"json", 0, OPTION_FLAG, NULL, "a JSON object a line", TARGET(json)},
};
static const struct option_group class_group = {"The list:", class_rows,
                                                sizeof class_rows / sizeof class_rows[0]};
const struct command command_class = {
    .name = "class",
    .arguments = "[CLASS [people|due]]",
    .summary = "the classes, their people, and what is due, without a browser",
    .about = "Alone: the classes. With a class (name or id) its people, and what each of them\n"
             "handed in; with “due” what was given out and who has not handed it in yet.",
    .examples = "  mistara class\n"
                "  mistara class \"Thursday evening\"\n"
                "  mistara class \"Thursday evening\" due\n",
    .groups = {&class_group},
    .run = book_run,
};

const struct command *const book_commands[] = {&command_backup, &command_restore, &command_export,
                                               &command_check,  &command_class,   NULL};
