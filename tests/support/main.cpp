#define BOOST_TEST_MODULE pulsewright
#include <boost/test/unit_test.hpp>

// FFTW keeps its planner and fontconfig its tables for the life of the process; the leak checker asks here what to pass over.
extern "C" const char* __lsan_default_suppressions();
extern "C" const char* __lsan_default_suppressions() { return "leak:libfftw3\nleak:libfontconfig"; }
