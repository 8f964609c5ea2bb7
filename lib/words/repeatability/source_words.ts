const words: Readonly<Record<string, string>> = {
  shoe: "from shoe to shoe",
  tester: "from tester to tester",
  "shoe:pair": "from pair to pair of one shoe",
  "shoe:side": "between left and right shoe",
  operator: "from operator to operator",
  session: "from session to session",
  "shoe:session": "from visit to visit of one shoe",
  "shoe:tester": "this tester with this shoe",
  residual: "from trial to trial",
};

/** What does a reader call a source of variance, such as `shoe:session`? */
export function sourceWords(source: string): string {
  return Object.hasOwn(words, source) ? words[source] : source;
}
