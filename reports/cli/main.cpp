#include "reports/cli/run.hpp"

int main(int argc, char** argv) { return pulsewright::cli::run({argv + (argc > 0 ? 1 : 0), argv + argc}); }
