# One function for every room, so that all rooms are built and tested alike.
#
#   room(NAME SOURCES file… [USES room…] [LINKS library…] [TESTS file…] [TEST_LINKS library…]
#        [FIRST_TESTS count])
#
# gives the library waybourne::NAME and, when tests are given, the executable NAME_test, registered
# with CTest under the same name. Sources lie in NAME/, tests in tests/NAME/. USES is what
# design.md lets the room know; tests/rooms_test.cpp reads the #include lines and holds it to that.
# With FIRST_TESTS, CTest runs that many cases and all others side by side.
function(room name)
  cmake_parse_arguments(ROOM "" "FIRST_TESTS" "SOURCES;USES;LINKS;TESTS;TEST_LINKS" ${ARGN})
  list(TRANSFORM ROOM_SOURCES PREPEND "${PROJECT_SOURCE_DIR}/${name}/")
  add_library(${name} STATIC ${ROOM_SOURCES})
  add_library(waybourne::${name} ALIAS ${name})
  target_include_directories(${name} PUBLIC "${PROJECT_SOURCE_DIR}")
  list(TRANSFORM ROOM_USES PREPEND "waybourne::")
  target_link_libraries(${name} PUBLIC waybourne_options ${ROOM_USES} PRIVATE ${ROOM_LINKS})
  if(ROOM_TESTS AND WAYBOURNE_TESTS)
    list(TRANSFORM ROOM_TESTS PREPEND "${PROJECT_SOURCE_DIR}/tests/${name}/")
    test_program(${name}_test SOURCES ${ROOM_TESTS} LINKS waybourne::${name} ${ROOM_TEST_LINKS}
                 FIRST_TESTS ${ROOM_FIRST_TESTS})
  endif()
endfunction()

# A doctest program: its main is shared, the sources hold only cases. Tests run in the project's
# folder and name its files from there, so that no path of a machine gets into what is compiled (and
# the compiler cache serves every checkout). Not optimised: they are compiled more often than run.
function(test_program name)
  cmake_parse_arguments(TEST "" "FIRST_TESTS" "SOURCES;LINKS" ${ARGN})
  add_executable(${name} ${TEST_SOURCES})
  target_link_libraries(${name} PRIVATE waybourne_test_main ${TEST_LINKS})
  target_compile_definitions(${name} PRIVATE WAYBOURNE_SOURCE_DIR=".")
  target_compile_options(${name} PRIVATE -O0)
  if(TEST_FIRST_TESTS)
    math(EXPR next "${TEST_FIRST_TESTS} + 1")
    doctest_run(${name}_first ${name} --last=${TEST_FIRST_TESTS})
    doctest_run(${name}_others ${name} --first=${next})
  else()
    doctest_run(${name} ${name})
  endif()
endfunction()

# doctest_run(NAME PROGRAM [argument…]): registered with CTest as NAME.
function(doctest_run name program)
  add_test(NAME ${name} COMMAND ${program} ${ARGN} WORKING_DIRECTORY "${PROJECT_SOURCE_DIR}")
  # with sanitizers on a busy machine the longest takes a quarter of an hour
  set_tests_properties(${name} PROPERTIES TIMEOUT 3600)
endfunction()
