# Flags that every target takes, as the interface target catoptra_options.
add_library(catoptra_options INTERFACE)
target_compile_options(catoptra_options INTERFACE
  -march=${CATOPTRA_MARCH}
  -ffp-contract=off   # a contracted product would round differently in lanes and in scalars
  -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wno-sign-conversion -Wno-missing-field-initializers -Werror)
if(CMAKE_CXX_COMPILER_ID STREQUAL "GNU")
  # GCC 12, optimising: finds uninitialised values inside intrinsics headers, and bounds errors in visits of variants
  # on branches that the held type rules out, and overlaps in string concatenation (GCC bug 105651).
  target_compile_options(catoptra_options INTERFACE -Wno-maybe-uninitialized -Wno-array-bounds -Wno-restrict -Wno-psabi)
elseif(CMAKE_CXX_COMPILER_ID MATCHES "Clang")
  # One source serves bool and lane masks, which know only & and |.
  target_compile_options(catoptra_options INTERFACE -Wno-bitwise-instead-of-logical)
endif()
# Promises between rooms (numeric/expects.h) are checked in debug builds: presets dev, asan, tsan.
target_compile_definitions(catoptra_options INTERFACE $<$<CONFIG:Debug>:CATOPTRA_CHECKS>)
set(CATOPTRA_SANITIZE "" CACHE STRING "sanitizers, as -fsanitize= takes them: address,undefined or thread")
if(CATOPTRA_SANITIZE)
  target_compile_options(catoptra_options INTERFACE -fsanitize=${CATOPTRA_SANITIZE} -fno-sanitize-recover=all -fno-omit-frame-pointer)
  target_link_options(catoptra_options INTERFACE -fsanitize=${CATOPTRA_SANITIZE})
endif()
