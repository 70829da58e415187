// Preloaded into the program by tests: kills it right before its n-th rename (KILL_AT_RENAME=n), or in the middle of a
// set of files, or fails each rename from the n-th on as a full disk does (FULL_AT_RENAME=n). Writes down what is
// renamed (RENAME_LOG=file), and makes the process number that of a container's first process (PROCESS_ID=1).
#include <cerrno>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <dlfcn.h>
#include <sys/types.h>

extern "C" pid_t getpid() {
  const char* number = std::getenv("PROCESS_ID");
  using Own = pid_t (*)();
  static const auto real = reinterpret_cast<Own>(dlsym(RTLD_NEXT, "getpid"));
  return number != nullptr ? std::atoi(number) : real();
}

extern "C" int rename(const char* from, const char* to) {
  static int count = 0;
  ++count;
  const char* kill_at = std::getenv("KILL_AT_RENAME");
  if (kill_at != nullptr && count == std::atoi(kill_at)) std::raise(SIGKILL);
  const char* full_at = std::getenv("FULL_AT_RENAME");
  if (full_at != nullptr && count >= std::atoi(full_at)) {
    errno = ENOSPC;
    return -1;
  }
  if (const char* log = std::getenv("RENAME_LOG")) {
    if (std::FILE* const file = std::fopen(log, "a")) {
      std::fprintf(file, "%s\n", from);
      std::fclose(file);
    }
  }
  using Rename = int (*)(const char*, const char*);
  static const auto real = reinterpret_cast<Rename>(dlsym(RTLD_NEXT, "rename"));
  return real(from, to);
}
