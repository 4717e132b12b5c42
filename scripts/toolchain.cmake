# SPDX-License-Identifier: MIT
# Cross-building: cmake --toolchain scripts/toolchain.cmake -DNIGHTLATCH_TRIPLET=arm-linux-gnueabihf …
# Takes TRIPLET-g++ from the PATH, and the target's libraries from Debian's folder for that triplet or,
# with -DCMAKE_SYSROOT=DIR, from a tree of the target's own.
set(NIGHTLATCH_TRIPLET "" CACHE STRING "The target as its compiler is named: aarch64-linux-gnu …")
if(NOT NIGHTLATCH_TRIPLET)
  message(FATAL_ERROR "Name the target: -DNIGHTLATCH_TRIPLET=aarch64-linux-gnu")
endif()
# The compiler's trial runs this file, too, and has no cache.
list(APPEND CMAKE_TRY_COMPILE_PLATFORM_VARIABLES NIGHTLATCH_TRIPLET)

set(CMAKE_SYSTEM_NAME Linux)
string(REGEX REPLACE "-.*" "" CMAKE_SYSTEM_PROCESSOR ${NIGHTLATCH_TRIPLET})
set(CMAKE_C_COMPILER ${NIGHTLATCH_TRIPLET}-gcc)
set(CMAKE_CXX_COMPILER ${NIGHTLATCH_TRIPLET}-g++)
set(CMAKE_LIBRARY_ARCHITECTURE ${NIGHTLATCH_TRIPLET})

# Debian's cross compilers bring an older C library of their own: not into what is linked statically.
if(NOT CMAKE_SYSROOT AND EXISTS /usr/lib/${NIGHTLATCH_TRIPLET}/libc.a)
  set(CMAKE_EXE_LINKER_FLAGS_INIT -B/usr/lib/${NIGHTLATCH_TRIPLET})
endif()

# Never this machine's own libraries; its programs are those that run here.
set(CMAKE_FIND_ROOT_PATH_MODE_PROGRAM NEVER)
if(CMAKE_SYSROOT)
  set(CMAKE_FIND_ROOT_PATH_MODE_LIBRARY ONLY)
  set(CMAKE_FIND_ROOT_PATH_MODE_INCLUDE ONLY)
  set(CMAKE_FIND_ROOT_PATH_MODE_PACKAGE ONLY)
  set(ENV{PKG_CONFIG_SYSROOT_DIR} ${CMAKE_SYSROOT})
endif()
set(folders lib/${NIGHTLATCH_TRIPLET}/pkgconfig lib/pkgconfig share/pkgconfig)
list(TRANSFORM folders PREPEND ${CMAKE_SYSROOT}/usr/)
list(JOIN folders ":" folders)
set(ENV{PKG_CONFIG_LIBDIR} ${folders})
