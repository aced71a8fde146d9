# Builds PROJ so that nothing outside the program can move a place: proj.db is taken from the library itself, never from a
# folder (PROJ_DATA, PROJ_LIB, HOME, the folder it was built in), and no grid is read from the disk.
set(EMBED_RESOURCE_FILES ON CACHE BOOL "proj.db lies in the library" FORCE)
set(USE_ONLY_EMBEDDED_RESOURCE_FILES ON CACHE BOOL "no other proj.db and no grid is read" FORCE)
add_compile_options("$<$<COMPILE_LANGUAGE:CXX>:-include${CMAKE_CURRENT_LIST_DIR}/sealed.h>")
