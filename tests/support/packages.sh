# Sourced by demo/run and tests/run: what flinch is built from, and how it gets installed.
# Debian package names; the caller has say and die.

build_packages="gcc libc6-dev meson ninja-build pkg-config libavformat-dev libavcodec-dev libavfilter-dev
libavutil-dev libswscale-dev libswresample-dev libsndfile1-dev libyaml-dev libjansson-dev
libpango1.0-dev libgsl-dev zlib1g-dev libcmocka-dev fonts-dejavu-core scdoc"
# Where a vendor's nodejs is installed it brings npm, and Debian's npm conflicts with it.
command -v npm >/dev/null || build_packages+=" npm ca-certificates"

install_packages() { # NAME…
    command -v apt-get >/dev/null || { say "No apt-get here: taking the packages as given."; return; }
    local missing=() as=() p
    for p in "$@"; do
        [ "$(dpkg-query -W -f '${db:Status-Abbrev}' "$p" 2>/dev/null)" = "ii " ] || missing+=("$p")
    done
    [ ${#missing[@]} -eq 0 ] && return
    if [ "$(id -u)" -ne 0 ]; then
        command -v sudo >/dev/null || die "needs these packages, and sudo to install them: ${missing[*]}"
        as=(sudo)
    fi
    say "Installing ${#missing[@]} packages ..."
    "${as[@]}" env DEBIAN_FRONTEND=noninteractive apt-get update -qq
    "${as[@]}" env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends \
        "${missing[@]}" >/dev/null
}
