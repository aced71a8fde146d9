/* Put before every C++ file of PROJ by sealed.cmake. PROJ then sees no environment variable (PROJ_AUX_DB names databases
   that would be attached, PROJ_DEBUG floods the terminal), and what it would print to standard error is dropped: its
   error texts reach the user through lowstave's own messages, with control characters made harmless. */
#ifndef LOWSTAVE_PROJ_SEALED_H
#define LOWSTAVE_PROJ_SEALED_H

#include <cstdio>
#include <cstdlib>

/* build.rs looks for this text in the library. */
__attribute__((used)) static const char lowstave_proj_is_sealed[] = "lowstave: this PROJ is sealed";

static inline char *lowstave_no_environment(const char *) { return nullptr; }
static inline int lowstave_no_output(std::FILE *, const char *, ...) { return 0; }

#define getenv(name) lowstave_no_environment(name)
#define fprintf(...) lowstave_no_output(__VA_ARGS__)

#endif
