# Sourced by app/run and tests/run: everything a bare machine needs, done once.
#
#   set_up run      the program and its libraries
#   set_up dev      the same, with the tools of the tests
#
# Afterwards $root is the checkout and $python the Python of its .venv. A stamp in
# .venv records what was installed, so the second call only compares two strings.

root="$(CDPATH="" cd -- "$(dirname "${BASH_SOURCE[0]}")/.." && pwd -P)"
python="$root/.venv/bin/python"

say() { printf 'crankwright: %s\n' "$*" >&2; }
fail() { say "$*"; exit 1; }

# The first Python on the path that is new enough (PYTHON=... chooses another).
find_python() {
    local name
    for name in ${PYTHON:+"$PYTHON"} python3 python3.13 python3.12 python3.11 python; do
        if "$name" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
            printf '%s\n' "$name"
            return 0
        fi
    done
    return 1
}

# apt-get install as root or by a sudo that asks no password; false where neither goes.
apt_install() {
    local apt=(env DEBIAN_FRONTEND=noninteractive apt-get -qq)
    local install=(install -y --no-install-recommends "$@")
    command -v apt-get >/dev/null || return 1
    if [ "$(id -u)" -ne 0 ]; then
        sudo -n true 2>/dev/null || return 1
        apt=(sudo -n "${apt[@]}")
    fi
    say "installing by apt: $*"
    # The lists of packages may be old or missing: fetched only when that shows.
    "${apt[@]}" "${install[@]}" >/dev/null 2>&1 </dev/null ||
        { "${apt[@]}" update >&2 && "${apt[@]}" "${install[@]}" >/dev/null; } </dev/null
}

# A .venv that runs: made when missing, made anew when its Python moved or broke.
make_venv() {
    local base
    if "$python" -c 'import sys, pip; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
        return
    fi
    if ! base="$(find_python)"; then
        apt_install python3 python3-venv || true
        base="$(find_python)" ||
            fail "Python 3.11 or newer is needed; install it and call this again" \
                "(or name it: PYTHON=/path/to/python $0)."
    fi
    if ! "$base" -c 'import ensurepip, venv' 2>/dev/null; then
        apt_install "python$("$base" -c 'import sys; print("%d.%d" % sys.version_info[:2])')-venv" ||
            fail "$base cannot make virtual environments; install python3-venv and call this again."
    fi
    say "making .venv with $("$base" --version)"
    rm -rf "$root/.venv"
    "$base" -m venv "$root/.venv" || fail "making .venv failed; see the lines above."
}

# What the installation depends on, as one line (cksum is in every base system).
fingerprint() {
    printf '%s %s ' "$1" "$root"
    "$python" --version
    cat "$root/pyproject.toml" "$root/constraints.txt"
}

# Whether the stamp of that extra says that what is asked now is installed.
is_installed() {
    [ "$(cat "$root/.venv/installed-$1" 2>/dev/null)" = "$(fingerprint "$1" | cksum)" ]
}

# Install with the versions of constraints.txt, unless a stamp says it is done; what the
# tests need holds all that the program needs.
install_packages() {
    local extra="$1" what="$root"
    is_installed "$extra" || is_installed dev && return
    [ "$extra" = dev ] && what="$root[dev]"
    say "installing the packages (a few minutes the first time)"
    "$python" -m pip install -q --disable-pip-version-check \
        -c "$root/constraints.txt" -e "$what" >&2 ||
        fail "installing the packages failed; check the network and call this again."
    fingerprint "$extra" | cksum >"$root/.venv/installed-$extra"
}

# The shared libraries among those named ("file=debian-package") that do not load.
missing_libraries() {
    "$python" - "$@" <<'PY'
import ctypes
import sys

for pair in sys.argv[1:]:
    library, package = pair.split("=")
    try:
        ctypes.CDLL(library)
    except OSError:
        print(package)
PY
}

# Qt's system libraries: those for drawing always, those of X11 or Wayland where there is a
# display. The wheel of Qt carries none of them.
install_libraries() {
    local wanted=(
        libglib-2.0.so.0=libglib2.0-0 libgthread-2.0.so.0=libglib2.0-0
        libEGL.so.1=libegl1 libGL.so.1=libgl1 libxkbcommon.so.0=libxkbcommon0
        libfontconfig.so.1=libfontconfig1 libdbus-1.so.3=libdbus-1-3
    )
    [ "$(uname -s)" = Linux ] || return 0
    if [ -n "${DISPLAY:-}" ]; then
        wanted+=(
            libxcb-cursor.so.0=libxcb-cursor0 libxcb-icccm.so.4=libxcb-icccm4
            libxcb-image.so.0=libxcb-image0 libxcb-keysyms.so.1=libxcb-keysyms1
            libxcb-randr.so.0=libxcb-randr0 libxcb-render-util.so.0=libxcb-render-util0
            libxcb-shape.so.0=libxcb-shape0 libxcb-xkb.so.1=libxcb-xkb1
            libxkbcommon-x11.so.0=libxkbcommon-x11-0
        )
    fi
    if [ -n "${WAYLAND_DISPLAY:-}" ]; then
        wanted+=(
            libwayland-client.so.0=libwayland-client0 libwayland-cursor.so.0=libwayland-cursor0
            libwayland-egl.so.1=libwayland-egl1
        )
    fi
    local missing
    mapfile -t missing < <(missing_libraries "${wanted[@]}" | sort -u)
    [ "${#missing[@]}" -eq 0 ] && return
    apt_install "${missing[@]}" ||
        fail "Qt needs system libraries that are missing; install them and call this again:" \
            "sudo apt-get install ${missing[*]}"
}

set_up() {
    make_venv
    install_packages "$1"
    install_libraries
}
