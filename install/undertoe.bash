# Completion of undertoe for bash: verbs, the options of a verb, then files.
_undertoe() {
  local word=${COMP_WORDS[COMP_CWORD]} verb=${COMP_WORDS[1]}
  if [ "$COMP_CWORD" = 1 ]; then
    mapfile -t COMPREPLY < <(compgen -W "demo live read lick map review check setup doctor carry --help --version" -- "$word")
  elif [[ $word == -* ]]; then
    mapfile -t COMPREPLY < <(compgen -W "$(undertoe "$verb" --help 2>/dev/null | grep -oE -- '--[a-z][a-z0-9-]*' | sort -u)" -- "$word")
  fi
}
complete -o default -F _undertoe undertoe
