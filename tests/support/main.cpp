#define BOOST_TEST_MODULE pulsewright
#include <boost/test/unit_test.hpp>
