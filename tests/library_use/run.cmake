# Installs into a folder of its own, builds the example against it and runs it on a capture.
foreach(step
    "${CMAKE_COMMAND};--install;${BUILD};--prefix;${WORK}/prefix"
    "${CMAKE_COMMAND};-G;Ninja;-S;${SOURCE};-B;${WORK}/build;-DCMAKE_PREFIX_PATH=${WORK}/prefix;-DCMAKE_CXX_FLAGS=${FLAGS}"
    "${CMAKE_COMMAND};--build;${WORK}/build"
    "${WORK}/build/edge_report;${CAPTURE}")
  execute_process(COMMAND ${step} RESULT_VARIABLE status OUTPUT_VARIABLE output ERROR_VARIABLE output)
  if(NOT status EQUAL 0)
    message(FATAL_ERROR "${step}: ${status}\n${output}")
  endif()
endforeach()
if(NOT output MATCHES "verdict (pass|fail|marginal|cannot-tell)\nrising 10-90 % ")
  message(FATAL_ERROR "unexpected output:\n${output}")
endif()
