#!/usr/bin/env bash
# Lays out the folder in which buildozer builds the tablet's package: the recipe, and beside it the app's own files.
#
#   fieldapp/platform/android/stage.sh [FOLDER]      default out/android
#
# Only files that git knows are taken, so that nothing of a store, a roster or a demo can get into a package.
set -euo pipefail
here="$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)"
house="$(cd "$here/../../.." && pwd)"
folder="${1:-$house/out/android}"
mkdir -p "$folder"
rm -rf "$folder/app" "$folder/recipes" "$folder/java" "$folder/xml"
mkdir "$folder/app"
cd "$house"
git ls-files -z shared sync fieldapp assets ':!fieldapp/platform/android' ':!assets/fonts/build.py' |
    xargs -0 cp --parents -t "$folder/app"
git ls-files -z ':(glob)fieldapp/platform/android/*.py' | xargs -0 cp --parents -t "$folder/app"
mv "$folder/app/fieldapp/platform/android/main.py" "$folder/app/main.py"
cp -r "$here/recipes" "$here/java" "$here/xml" "$here/buildozer.spec" "$folder/"
printf '%s\n' "Laid out in $folder. Next, there: buildozer android debug"
