#pragma once
// Whether a call breaks a promise, and is told so where promises are checked (numeric/expects.h). Elsewhere nobody
// looks, so the call is not made.
#include "numeric/expects.h"

namespace catoptra::test {

template <class Call>
bool is_refused(const Call& call) {
  if constexpr (promises_are_checked) {
    try {
      call();
    } catch (const BrokenPromise&) {
      return true;
    }
    return false;
  }
  return true;
}

}  // namespace catoptra::test
