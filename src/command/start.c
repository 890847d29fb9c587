/* start.c - the program itself: says which it is, and for all else loads what does the work
 * (main.c and the rooms behind it), with the libraries that takes. */
#include "base/object.h"

#include <stdio.h>
#include <string.h>

typedef int main_fn(int argc, char **argv);

enum { EXIT_MACHINE = 3 };

static int say_version(void) {
    (void)printf("boltwright %s\n", BW_VERSION);
    if (fflush(stdout) != 0 || ferror(stdout) != 0) {
        (void)fprintf(stderr, "boltwright: the output could not be written\n");
        return EXIT_MACHINE;
    }
    return 0;
}

int main(int argc, char **argv) {
    main_fn *run = NULL;
    bw_err err = {0};
    if (argc >= 2 && strcmp(argv[1], "--version") == 0) {
        return say_version();
    }
    if (bw_object_find("boltwright-core.so", "bw_main", &run, &err) != BW_OK) {
        (void)fprintf(stderr, "boltwright: %s\n", err.text);
        return EXIT_MACHINE;
    }
    return run(argc, argv);
}
