# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
#
# Shared by ./run and ./test: packages and building. Sourced, never run; everything it says goes to
# standard error.

# "command:package" is satisfied by any such command, however it got there; "=package" needs the
# package, or any of several parted by "|" (the first is the one that gets installed).
program_packages=(
  g++:g++ cmake:cmake ninja:ninja-build
  =libeigen3-dev '=libboost-dev|libboost1.74-dev' =libceres-dev =libtomlplusplus-dev =nlohmann-json3-dev
  =libsqlitecpp-dev =libsqlite3-dev =libfmt-dev =libspdlog-dev =libcli11-dev =zlib1g-dev
  =libhpdf-dev pkg-config:pkg-config =libcpp-httplib-dev esbuild:esbuild)
test_packages=(
  python3:python3 nm:binutils git:git node:nodejs npm:npm chromium:chromium pdftotext:poppler-utils faketime:faketime =locales
  avr-gcc:gcc-avr arm-none-eabi-gcc:gcc-arm-none-eabi
  clang++-19:clang-19 clang-tidy-19:clang-tidy-19 clang-format-19:clang-format-19
  '=libclang-rt-19-dev' '=llvm-19' =libgtest-dev =librapidcheck-dev =libsundials-dev =libsuitesparse-dev)

say() { printf '%s\n' "$*" >&2; }

package_installed() {
  [ "$(dpkg-query -W -f='${db:Status-Status}' "$1" 2>/dev/null)" = installed ]
}

# missing_packages ENTRY...: the packages that have to be installed, one a line.
missing_packages() {
  local entry alternatives package found
  for entry in "$@"; do
    if [ "${entry#=}" = "$entry" ]; then
      command -v "${entry%%:*}" >/dev/null || printf '%s\n' "${entry#*:}"
      continue
    fi
    found=no
    IFS='|' read -ra alternatives <<<"${entry#=}"
    for package in "${alternatives[@]}"; do
      if package_installed "$package"; then found=yes; fi
    done
    [ $found = yes ] || printf '%s\n' "${alternatives[0]}"
  done
}

# install_packages ENTRY...: installs what is missing and nothing else. Safe to repeat after an
# interruption: dpkg first finishes what it had begun.
install_packages() {
  local missing as_root=()
  mapfile -t missing < <(missing_packages "$@")
  [ ${#missing[@]} -gt 0 ] || return 0
  if ! command -v apt-get >/dev/null; then
    say "These packages are missing, and there is no apt-get to install them with: ${missing[*]}"
    return 1
  fi
  if [ "$(id -u)" -ne 0 ]; then
    if ! command -v sudo >/dev/null; then
      say "These packages are missing; install them as root: apt-get install ${missing[*]}"
      return 1
    fi
    as_root=(sudo)
  fi
  as_root+=(env DEBIAN_FRONTEND=noninteractive)
  say "Installing: ${missing[*]}"
  if [ -n "$(dpkg --audit 2>/dev/null)" ]; then
    "${as_root[@]}" dpkg --configure -a >&2 || return 1
  fi
  # A source list that cannot be fetched may be one we do not need, so installing decides.
  "${as_root[@]}" apt-get -q -o DPkg::Lock::Timeout=300 update >&2 </dev/null ||
    say "apt-get update failed; trying with the lists at hand"
  "${as_root[@]}" apt-get -qq -y -o DPkg::Lock::Timeout=300 -o Dpkg::Use-Pty=0 \
    install --no-install-recommends "${missing[@]}" >&2 </dev/null
}

# build_preset PRESET FOLDER [TARGET...]: configures where needed and builds. One build at a time per
# folder, so that several ./run at once do not tread on each other. Quiet unless on a terminal.
build_preset() {
  local preset=$1 folder=$2 lock status=0
  shift 2
  mkdir -p "$folder" || return 1
  exec {lock}>"$folder/.lock"
  flock "$lock"
  build_locked "$preset" "$folder" "$@" || status=$?
  exec {lock}>&-
  return $status
}

build_locked() {
  local preset=$1 folder=$2 fresh=()
  shift 2
  if ! grep -qxF "CMAKE_HOME_DIRECTORY:INTERNAL=$root" "$folder/CMakeCache.txt" 2>/dev/null; then
    fresh=(--fresh)  # the tree was moved or copied together with its build folder
  fi
  if [ ${#fresh[@]} -gt 0 ] || [ ! -f "$folder/build.ninja" ]; then
    say "Configuring ${folder#"$root"/}"
    (cd "$root" && cmake --preset "$preset" "${fresh[@]}") >"$folder/.configure.log" 2>&1 || {
      cat "$folder/.configure.log" >&2
      rm -f "$folder/build.ninja"
      return 1
    }
    say "Building ${folder#"$root"/} (minutes the first time)"
  fi
  # Nothing to do is nothing to say.
  if [ -t 2 ]; then
    ninja -C "$folder" -n "$@" 2>/dev/null | grep -q 'no work to do' && return 0
    ninja -C "$folder" -j "$(nproc)" "$@" >&2
  else
    ninja -C "$folder" -j "$(nproc)" --quiet "$@" 2>&1 | grep -vxF 'ninja: no work to do.' >&2
    return "${PIPESTATUS[0]}"
  fi
}
