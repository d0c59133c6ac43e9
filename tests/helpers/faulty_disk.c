/* Stands before the C library in a test's process: counts the calls that touch files under one folder, and at one of
 * them fails with an error, or kills the process. Which and how is told by disk_arm; disk_calls says how many there were. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdarg.h>
#include <string.h>
#include <sys/sendfile.h>
#include <sys/stat.h>
#include <sys/types.h>
#include <unistd.h>

#define KILL -1
#define FDS 4096

static char under[4096];
static char ours[FDS];
static long calls, fails_at;
static int with_error, lasting, armed;

void disk_arm(const char *folder, long at, int error, int from_then_on) {
    strncpy(under, folder, sizeof under - 1);
    memset(ours, 0, sizeof ours);
    calls = 0;
    fails_at = at;
    with_error = error;
    lasting = from_then_on;
    armed = 1;
}

void disk_disarm(void) { armed = 0; }

long disk_calls(void) { return calls; }

static int is_under(const char *path) { return armed && path && strncmp(path, under, strlen(under)) == 0; }
static int is_ours(int fd) { return armed && fd >= 0 && fd < FDS && ours[fd]; }

/* Counts a call; 1 when it is to fail. */
static int fails(void) {
    calls++;
    if (!fails_at || calls < fails_at || (calls > fails_at && !lasting)) return 0;
    if (with_error == KILL) kill(getpid(), SIGKILL);
    errno = with_error;
    return 1;
}

/* The same for a write: of a process that is killed, half of it may have reached the disk. */
static int fails_writing(int fd, const void *data, size_t size, off_t at, int placed) {
    if (fails_at && calls + 1 == fails_at && with_error == KILL) {
        ssize_t (*half)(int, const void *, size_t, off_t) = dlsym(RTLD_NEXT, "pwrite64");
        off_t here = placed ? at : lseek(fd, 0, SEEK_CUR);
        if (half(fd, data, size / 2, here) < 0) errno = EIO;
    }
    return fails();
}

#define NEXT(name) ((__typeof__(&name))dlsym(RTLD_NEXT, #name))

#define OPENS(name, parameters, ...)                                   \
    int name parameters {                                              \
        va_list rest;                                                  \
        va_start(rest, flags);                                         \
        mode_t mode = va_arg(rest, mode_t);                            \
        va_end(rest);                                                  \
        int mine = is_under(path);                                     \
        if (mine && fails()) return -1;                                \
        int fd = NEXT(name)(__VA_ARGS__, mode);                        \
        if (fd >= 0 && fd < FDS) ours[fd] = mine;                      \
        return fd;                                                     \
    }
OPENS(open, (const char *path, int flags, ...), path, flags)
OPENS(open64, (const char *path, int flags, ...), path, flags)
OPENS(openat, (int folder, const char *path, int flags, ...), folder, path, flags)
OPENS(openat64, (int folder, const char *path, int flags, ...), folder, path, flags)

int close(int fd) {
    if (fd >= 0 && fd < FDS) ours[fd] = 0;
    return NEXT(close)(fd);
}

ssize_t write(int fd, const void *data, size_t size) {
    if (is_ours(fd) && fails_writing(fd, data, size, 0, 0)) return -1;
    return NEXT(write)(fd, data, size);
}
ssize_t pwrite(int fd, const void *data, size_t size, off_t at) {
    if (is_ours(fd) && fails_writing(fd, data, size, at, 1)) return -1;
    return NEXT(pwrite)(fd, data, size, at);
}
ssize_t pwrite64(int fd, const void *data, size_t size, off_t at) {
    if (is_ours(fd) && fails_writing(fd, data, size, at, 1)) return -1;
    return NEXT(pwrite64)(fd, data, size, at);
}
ssize_t read(int fd, void *data, size_t size) {
    if (is_ours(fd) && fails()) return -1;
    return NEXT(read)(fd, data, size);
}
ssize_t pread(int fd, void *data, size_t size, off_t at) {
    if (is_ours(fd) && fails()) return -1;
    return NEXT(pread)(fd, data, size, at);
}
ssize_t pread64(int fd, void *data, size_t size, off_t at) {
    if (is_ours(fd) && fails()) return -1;
    return NEXT(pread64)(fd, data, size, at);
}
ssize_t sendfile(int to, int from, off_t *at, size_t size) {
    if ((is_ours(to) || is_ours(from)) && fails()) return -1;
    return NEXT(sendfile)(to, from, at, size);
}
ssize_t sendfile64(int to, int from, off64_t *at, size_t size) {
    if ((is_ours(to) || is_ours(from)) && fails()) return -1;
    return NEXT(sendfile64)(to, from, at, size);
}

#define ON_FD(name, ...)                                               \
    if (is_ours(fd) && fails()) return -1;                             \
    return NEXT(name)(__VA_ARGS__);
int fsync(int fd) { ON_FD(fsync, fd) }
int fdatasync(int fd) { ON_FD(fdatasync, fd) }
int ftruncate(int fd, off_t size) { ON_FD(ftruncate, fd, size) }
int ftruncate64(int fd, off64_t size) { ON_FD(ftruncate64, fd, size) }
int fchmod(int fd, mode_t mode) { ON_FD(fchmod, fd, mode) }

#define ON_PATH(name, ...)                                             \
    if (is_under(path) && fails()) return -1;                          \
    return NEXT(name)(__VA_ARGS__);
int unlink(const char *path) { ON_PATH(unlink, path) }
int unlinkat(int folder, const char *path, int flags) { ON_PATH(unlinkat, folder, path, flags) }
int chmod(const char *path, mode_t mode) { ON_PATH(chmod, path, mode) }
int rename(const char *path, const char *to) { ON_PATH(rename, path, to) }
int renameat(int folder, const char *path, int other, const char *to) { ON_PATH(renameat, folder, path, other, to) }
int link(const char *path, const char *to) { ON_PATH(link, path, to) }
int linkat(int folder, const char *path, int other, const char *to, int flags) {
    ON_PATH(linkat, folder, path, other, to, flags)
}
