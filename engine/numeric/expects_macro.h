// CATOPTRA_EXPECTS(promise), on or off. Part of numeric/expects.h; without a guard, so that its test can have both.
#ifdef CATOPTRA_CHECKS
#define CATOPTRA_EXPECTS(promise) ((promise) ? void() : throw ::catoptra::BrokenPromise(#promise, __FILE__, __LINE__))
#else
#define CATOPTRA_EXPECTS(promise) static_cast<void>(sizeof((promise) ? 1 : 0))  // not evaluated
#endif
