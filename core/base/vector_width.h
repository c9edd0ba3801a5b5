// MACLE_MANY_WIDTHS: compile a function for several vector widths and pick at start. With
// contraction off every width gives the same digits. Left out under sanitizers, whose run time is
// not ready when the choice is made.
#pragma once

#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__) && \
    !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
#define MACLE_MANY_WIDTHS __attribute__((target_clones("arch=x86-64-v3", "default")))
#else
#define MACLE_MANY_WIDTHS
#endif
