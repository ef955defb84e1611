// What a script says, in the language of the page: tr("{n} of {all}", {n: 3, all: 9}), trn("{n} mark", "{n} marks", 3), trc("zone", "open").
(() => {
  "use strict";
  const words = globalThis.WORDS ?? {}, plural = globalThis.PLURAL ?? ((n) => Number(n !== 1));
  const filled = (message, fields) => message.replace(/\{(\w+)\}/g, (whole, name) => (name in fields ? String(fields[name]) : whole));
  globalThis.tr = (message, fields = {}) => filled(words[message] ?? message, fields);
  globalThis.trc = (context, message, fields = {}) => filled(words[`${context}\u0004${message}`] ?? message, fields);
  globalThis.trn = (one, many, n, fields = {}) => {
    const said = words[one], place = plural(n);
    return filled(said ? said[place] : [one, many][Number(n !== 1)], { n: n.toLocaleString("en-US"), ...fields });
  };
})();
