/* Stands between a program and the system (LD_PRELOAD): counts what the program does to files, and at one of these points ends
 * the program as a kill does, lets half of a write through first, or refuses as a full or a failing disk does.
 *
 *   FAULT_AT    the point, counted from 1; none by default
 *   FAULT_MODE  kill, half, full (from this point on there is no room), quota (from this point on the user may keep no more),
 *               sync (this one sync fails), lockless (nothing can be locked, as on some network file systems; needs no point),
 *               linkless (no file can have a second name, as on FAT; needs no point)
 *   FAULT_LOG   a file for the number of points there were, written when the program ends by itself
 *   FAULT_TOLD  a file for what was synced and what was named, a line each, in the order in which it was done
 *
 * Programs that it starts are left alone. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <unistd.h>

static long at = 0;
static enum { KILL, HALF, FULL, QUOTA, SYNC, LOCKLESS, LINKLESS } mode = KILL;
static atomic_long count = 0;
static char record[4096];
static char told[4096];

enum kind { WRITES, SYNCS, OTHER };

__attribute__((constructor)) static void begin(void) {
    const char *text = getenv("FAULT_AT");
    at = text ? atol(text) : 0;
    text = getenv("FAULT_MODE");
    mode = !text                       ? KILL
           : !strcmp(text, "half")     ? HALF
           : !strcmp(text, "full")     ? FULL
           : !strcmp(text, "quota")    ? QUOTA
           : !strcmp(text, "sync")     ? SYNC
           : !strcmp(text, "lockless") ? LOCKLESS
           : !strcmp(text, "linkless") ? LINKLESS
                                       : KILL;
    text = getenv("FAULT_LOG");
    if (text) snprintf(record, sizeof record, "%s", text);
    text = getenv("FAULT_TOLD");
    if (text) snprintf(told, sizeof told, "%s", text);
    unsetenv("LD_PRELOAD");
}

__attribute__((destructor)) static void end(void) {
    char text[32];
    if (!record[0]) return;
    int length = snprintf(text, sizeof text, "%ld\n", (long)count);
    int fd = (int)syscall(SYS_openat, AT_FDCWD, record, O_WRONLY | O_CREAT | O_TRUNC, 0644);
    if (fd >= 0) syscall(SYS_write, fd, text, (size_t)length);
}

/* 0 to go on, 1 for half of it, or an error number to refuse with. */
static int point(enum kind kind) {
    long now = atomic_fetch_add(&count, 1) + 1;
    if (!at || now < at) return 0;
    if (mode == FULL) return kind == WRITES ? ENOSPC : 0;
    if (mode == QUOTA) return kind == WRITES ? EDQUOT : 0;
    if (now != at) return 0;
    if (mode == SYNC) return kind == SYNCS ? EIO : 0;
    if (mode == HALF && kind == WRITES) return 1;
    syscall(SYS_kill, getpid(), SIGKILL);
    return 0;
}

/* What was done with a file, once it was done. */
static void tell(const char *what, const char *path) {
    char line[4200];
    if (!told[0]) return;
    int length = snprintf(line, sizeof line, "%s %s\n", what, path);
    int fd = (int)syscall(SYS_openat, AT_FDCWD, told, O_WRONLY | O_CREAT | O_APPEND, 0644);
    if (fd < 0) return;
    if (length < (int)sizeof line) syscall(SYS_write, fd, line, (size_t)length);
    syscall(SYS_close, fd);
}

static void tell_synced(int fd) {
    char link[64], path[4096];
    snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
    ssize_t length = readlink(link, path, sizeof path - 1);
    if (length < 0) return;
    path[length] = 0;
    tell("synced", path);
}

static int on_disk(int fd) {
    struct stat data;
    return fstat(fd, &data) == 0 && (S_ISREG(data.st_mode) || S_ISDIR(data.st_mode));
}

#define REAL(name) __typeof__(&name) real = (__typeof__(&name))dlsym(RTLD_NEXT, #name)
#define REFUSED(kind) \
    do { \
        int what = point(kind); \
        if (what == 1) syscall(SYS_kill, getpid(), SIGKILL); \
        if (what > 1) { errno = what; return -1; } \
    } while (0)

#define WRITER(name, arguments, pass, half) \
    ssize_t name arguments { \
        REAL(name); \
        if (on_disk(fd)) { \
            int what = point(WRITES); \
            if (what > 1) { errno = what; return -1; } \
            if (what == 1) { half; syscall(SYS_kill, getpid(), SIGKILL); } \
        } \
        return real pass; \
    }
WRITER(write, (int fd, const void *bytes, size_t length), (fd, bytes, length), real(fd, bytes, length / 2))
WRITER(pwrite, (int fd, const void *bytes, size_t length, off_t to), (fd, bytes, length, to), real(fd, bytes, length / 2, to))
WRITER(pwrite64, (int fd, const void *bytes, size_t length, off64_t to), (fd, bytes, length, to), real(fd, bytes, length / 2, to))

#define SIMPLE(kind, name, arguments, pass) \
    int name arguments { REAL(name); REFUSED(kind); return real pass; }
#define SYNCER(name) \
    int name(int fd) { \
        REAL(name); \
        REFUSED(SYNCS); \
        int done = real(fd); \
        if (done == 0) tell_synced(fd); \
        return done; \
    }
SYNCER(fsync)
SYNCER(fdatasync)

int rename(const char *from, const char *to) {
    REAL(rename);
    REFUSED(OTHER);
    int done = real(from, to);
    if (done == 0) {
        tell("from", from);
        tell("named", to);
    }
    return done;
}
SIMPLE(OTHER, renameat, (int a, const char *from, int b, const char *to), (a, from, b, to))
#define LINKER(name, arguments, pass) \
    int name arguments { \
        REAL(name); \
        if (mode == LINKLESS) { errno = EPERM; return -1; } \
        REFUSED(OTHER); \
        int done = real pass; \
        if (done == 0) { \
            tell("of", from); \
            tell("linked", to); \
        } \
        return done; \
    }
LINKER(link, (const char *from, const char *to), (from, to))
LINKER(linkat, (int a, const char *from, int b, const char *to, int flags), (a, from, b, to, flags))
SIMPLE(OTHER, unlink, (const char *path), (path))
SIMPLE(OTHER, unlinkat, (int at_folder, const char *path, int flags), (at_folder, path, flags))
SIMPLE(OTHER, rmdir, (const char *path), (path))
SIMPLE(WRITES, mkdir, (const char *path, mode_t rights), (path, rights))
SIMPLE(OTHER, ftruncate, (int fd, off_t length), (fd, length))
SIMPLE(OTHER, ftruncate64, (int fd, off64_t length), (fd, length))

int flock(int fd, int how) {
    REAL(flock);
    if (mode == LOCKLESS) { errno = ENOLCK; return -1; }
    return real(fd, how);
}

#define OPENER(name, first, pass_first) \
    int name(first const char *path, int flags, ...) { \
        REAL(name); \
        mode_t rights = 0; \
        if (flags & (O_CREAT | O_TMPFILE)) { \
            va_list rest; \
            va_start(rest, flags); \
            rights = va_arg(rest, mode_t); \
            va_end(rest); \
        } \
        if (flags & O_CREAT) REFUSED(WRITES); \
        return real(pass_first path, flags, rights); \
    }
#define NOTHING
#define FOLDER int folder,
#define PASS_FOLDER folder,
OPENER(open, NOTHING, NOTHING)
OPENER(open64, NOTHING, NOTHING)
OPENER(openat, FOLDER, PASS_FOLDER)
OPENER(openat64, FOLDER, PASS_FOLDER)
