# One function for every room, so that all rooms are built and tested alike.
#
#   room(NAME SOURCES file… [USES room…] [LINKS library…] [TESTS file…] [TEST_LINKS library…])
#
# gives the library waybourne::NAME and, when tests are given, the executable NAME_test, registered
# with CTest under the same name. Sources lie in NAME/, tests in tests/NAME/. USES is what
# design.md lets the room know; tests/rooms_test.cpp reads the #include lines and holds it to that.
function(room name)
  cmake_parse_arguments(ROOM "" "" "SOURCES;USES;LINKS;TESTS;TEST_LINKS" ${ARGN})
  list(TRANSFORM ROOM_SOURCES PREPEND "${PROJECT_SOURCE_DIR}/${name}/")
  add_library(${name} STATIC ${ROOM_SOURCES})
  add_library(waybourne::${name} ALIAS ${name})
  target_include_directories(${name} PUBLIC "${PROJECT_SOURCE_DIR}")
  list(TRANSFORM ROOM_USES PREPEND "waybourne::")
  target_link_libraries(${name} PUBLIC waybourne_options ${ROOM_USES} PRIVATE ${ROOM_LINKS})
  if(ROOM_TESTS AND WAYBOURNE_TESTS)
    list(TRANSFORM ROOM_TESTS PREPEND "${PROJECT_SOURCE_DIR}/tests/${name}/")
    test_program(${name}_test SOURCES ${ROOM_TESTS} LINKS waybourne::${name} ${ROOM_TEST_LINKS})
  endif()
endfunction()

# A doctest program: its main is shared, the sources hold only cases.
function(test_program name)
  cmake_parse_arguments(TEST "" "" "SOURCES;LINKS" ${ARGN})
  add_executable(${name} ${TEST_SOURCES})
  target_link_libraries(${name} PRIVATE waybourne_test_main ${TEST_LINKS})
  target_compile_definitions(${name} PRIVATE WAYBOURNE_SOURCE_DIR="${PROJECT_SOURCE_DIR}")
  add_test(NAME ${name} COMMAND ${name})
endfunction()
