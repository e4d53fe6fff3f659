#!/bin/sh
# Makes a git repository in which the demo ledger, low-barn, has a year of revisions behind it.
# The place, its people and its revisions are invented.
#
#     sh examples/a-year-of-revisions.sh my-year
#     scruple compare --from 2026-09 --to 2026-10 --in my-year
#
# Nothing outside the new folder is touched, and no settings of git are read or changed.
set -eu

if [ $# -ne 1 ]; then
    echo "say where: sh examples/a-year-of-revisions.sh FOLDER" >&2
    exit 2
fi
if [ -e "$1" ]; then
    echo "$1 is there already: name a folder that is not" >&2
    exit 2
fi
demo=$(cd "$(dirname "$0")/low-barn" && pwd)
mkdir -p "$1"
cd "$1"

unset GIT_DIR GIT_WORK_TREE GIT_INDEX_FILE
export GIT_CONFIG_NOSYSTEM=1 GIT_CONFIG_GLOBAL=/dev/null
export GIT_AUTHOR_EMAIL=barn@example.org GIT_COMMITTER_EMAIL=barn@example.org

# Replaces words in a file; they must be there, so that the story stays true.
change() {
    awk -v from="$2" -v to="$3" '
        { at = index($0, from)
          if (at && !done) { $0 = substr($0, 1, at - 1) to substr($0, at + length(from)); done = 1 }
          print }
        END { if (!done) exit 3 }' "$1" > "$1.new" || { echo "\"$2\" is not in $1" >&2; exit 2; }
    mv "$1.new" "$1"
}

# Commits everything: the day, who, and why.
commit() {
    export GIT_AUTHOR_DATE="$1T17:30:00+0000" GIT_COMMITTER_DATE="$1T17:30:00+0000"
    export GIT_AUTHOR_NAME="$2" GIT_COMMITTER_NAME="$2"
    git add --all
    git commit --quiet --message "$3"
}

git init --quiet --initial-branch main
cp -R "$demo/." .
# What is written today without a history of its own comes with the last commit.
rm -rf book class people
supper=formulas/supper.scruple
chest=formulas/chest.scruple
roots=materia/roots.scruple
fruits=materia/fruits.scruple

# The ledger as it began, a year ago.
change $supper 'peppermint leaf               30 g ' 'peppermint leaf               40 g '
change $supper 'lemon balm leaf               15 g' 'lemon balm leaf               10 g'
change $supper 'ginger rhizome                1 heaped teaspoon' 'ginger rhizome                2 heaped teaspoons'
change $supper 'of boiling water for 10 to 15 minutes, covered' 'of boiling water for 10 minutes'
change $supper '1 cup after meals, up to 3 a day' '1 cup after meals'
change $supper 'formula three-seed tea' 'formula bag tea'
change $chest 'liquorice root                2 parts' 'liquorice root                3 parts'
change $chest 'q.s. to 20 parts' 'q.s. to 21 parts'
change $roots 'weighed 14.9 g for 5' 'weighed 13.9 g for 5'
change $fruits 'weighed 2.0, 2.1, 2.2 g' 'weighed 1.8, 2.1 g'
commit 2025-11-24 'Ada of the Barn' 'the formulas of the house, as the card box had them'

change $supper 'ginger rhizome                2 heaped teaspoons' 'ginger rhizome                1 heaped teaspoon'
commit 2025-12-12 'Ada of the Barn' 'half the ginger: three people spoke of heartburn'

change $chest 'liquorice root                3 parts' 'liquorice root                2 parts'
change $chest 'q.s. to 21 parts' 'q.s. to 20 parts'
commit 2026-01-09 'Ada of the Barn' 'less liquorice in the chest tea'

change $supper 'formula bag tea' 'formula three-seed tea'
commit 2026-02-06 'Bran of the Barn' 'the bag tea gets the name that people call it by'

change $supper 'of boiling water for 10 minutes' 'of boiling water for 10 to 15 minutes, covered'
commit 2026-03-13 'Bran of the Barn' 'covered, so that the oils stay in the cup'

git mv $supper formulas/evening.scruple
supper=formulas/evening.scruple
commit 2026-04-17 'Bran of the Barn' 'another name for the file'

git mv $supper formulas/supper.scruple
supper=formulas/supper.scruple
commit 2026-05-08 'Ada of the Barn' 'the old name of the file was better'

change $fruits 'weighed 1.8, 2.1 g' 'weighed 2.0, 2.1, 2.2 g'
commit 2026-06-19 'Bran of the Barn' 'the new orange peel is cut finer: its spoon weighed again'

change $supper '# After-supper and seed teas.' '# After-supper and seed teas, for the autumn list.'
commit 2026-08-21 'Ada of the Barn' 'a comment'

change $supper 'lemon balm leaf               10 g' 'lemon balm leaf               15 g'
commit 2026-09-25 'Ada of the Barn' 'more lemon balm, now that there is plenty'

change $supper 'peppermint leaf               40 g ' 'peppermint leaf               30 g '
change $supper '1 cup after meals' '1 cup after meals, up to 3 a day'
commit 2026-10-09 'Ada of the Barn' 'less peppermint, and say how often'

change $roots 'weighed 13.9 g for 5' 'weighed 14.9 g for 5'
commit 2026-10-23 'Bran of the Barn' 'the heaped spoon of ginger weighed again'

cp -R "$demo/." .
commit 2026-11-20 'Ada of the Barn' 'the book, the class and the case codes'

if [ -n "$(git status --porcelain)" ]; then
    echo "something was left uncommitted" >&2
    exit 2
fi
echo "A year of revisions lies in $1: look at it with"
echo "  scruple compare --from 2026-09 --to 2026-10 --in $1"
echo "  scruple history \"after-supper tea\" --in $1"
