# use_quick_allocator(PROGRAM): an answer or a plan is some thousands of small pieces; this allocator
# takes a tenth of the instructions off a recommendation. The sanitizers bring one of their own.
function(use_quick_allocator program)
  if(NOT WAYBOURNE_SANITIZE)
    pkg_check_modules(JEMALLOC REQUIRED IMPORTED_TARGET jemalloc)
    target_link_libraries(${program} PRIVATE PkgConfig::JEMALLOC)
  endif()
endfunction()
