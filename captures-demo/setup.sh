# Read by captures-demo/run and tests/run (POSIX shell). Expects the working directory to be the project's top folder.

say() { printf '==> %s\n' "$*"; }

as_root() {
  if [ "$(id -u)" -eq 0 ]; then "$@"; else sudo "$@"; fi
}

is_installed() { [ "$(dpkg-query -W -f='${db:Status-Status}' "$1" 2>/dev/null)" = installed ]; }

# Installs those of the named Debian packages that are missing; fetches the package lists only where that needs them.
install_packages() {
  missing=
  for package in "$@"; do
    is_installed "$package" || missing="$missing $package"
  done
  [ -n "$missing" ] || return 0
  say "installing:$missing"
  # shellcheck disable=SC2086  # a list of package names without blanks
  try_install $missing || { as_root apt-get update -qq && try_install $missing; }
}

try_install() {
  as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "$@" </dev/null
}

# Node.js and npm as commands, wherever they came from.
install_node() {
  command -v node >/dev/null 2>&1 && command -v npm >/dev/null 2>&1 || install_packages nodejs npm
}

# npm packages of one folder, as its lock file pins them; nothing to do when they stand there already.
install_npm() {
  folder=$1
  [ -f "$folder/package-lock.json" ] || return 0
  if [ ! -f "$folder/node_modules/.package-lock.json" ] ||
     [ "$folder/package-lock.json" -nt "$folder/node_modules/.package-lock.json" ]; then
    install_node
    say "npm ci in $folder"
    npm ci --prefix "$folder" --no-audit --no-fund </dev/null
    touch "$folder/node_modules/.package-lock.json"
  fi
}

build_packages="g++ cmake ninja-build pkg-config libfmt-dev libfast-float-dev libssl-dev zlib1g-dev libsndfile1-dev
  libeigen3-dev libfftw3-dev nlohmann-json3-dev libcli11-dev librsvg2-dev libcairo2-dev"

install_build_needs() {
  # shellcheck disable=SC2086
  install_packages $build_packages
  install_npm reports/html/page
}
