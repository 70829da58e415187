#pragma once
// Work that may crash, tried in a process of its own.
#include <cstddef>
#include <functional>
#include <string>

namespace catoptra {

/// Runs `work` in a forked process that may take `seconds` of the processor and `most_B` more memory, its messages
/// dropped. Empty where it came to its end; else, in words, the exception that it threw ("…") or what ended it ("it
/// ends in: Segmentation fault"). Empty too where no process can be made. For a process without other threads.
struct Trial {
  std::string thrown, crash;
};
Trial tried_apart(const std::function<void()>& work, unsigned seconds, std::size_t most_B);

}  // namespace catoptra
