// The symptom search in the browser: the same words and whole numbers as in kbtools/search, so the same order.
// One global, kbSearch: load(data) and texts(data) take what assets/search-data.js and assets/search-text.js hold, ask(text,
// options) ranks, warm() builds tables early.
var kbSearch = (function () {
  "use strict";

  var data = null, N, words, WAYS, OPPOSITE_STATE;
  var sorted, terms, termNumber, stemOf, guard, forms, beginnings, longest, isPart, ways;
  var starts, counts, entries, impacts, columns, scores, touched, shapes = null, shown = null, waiting = null, read = null;

  // --- loading ---------------------------------------------------------------------------------------------------------

  function load(plain) {
    data = plain;
    N = plain.numbers;
    words = {};
    Object.keys(plain.words).forEach(function (name) { words[name] = new Set(split(plain.words[name])); });
    WAYS = new Map(Object.entries(plain.tables.WAYS));
    OPPOSITE_STATE = plain.tables.OPPOSITE_STATE;
    terms = split(plain.terms);
    termNumber = new Map();
    terms.forEach(function (term, i) { if (term[0] === "=") termNumber.set(term, i); });
    sorted = split(plain.surfaces);
    stemOf = unpacked(plain.stems, sorted.length);
    for (var i = 0, before = 0; i < sorted.length; i++) {
      before += stemOf[i] & 1 ? -(stemOf[i] + 1) / 2 : stemOf[i] / 2;
      stemOf[i] = before;
    }
    isPart = new Set(plain.parts);
    ways = new Map(Object.entries(plain.ways));
    loadForms(plain.forms);
    loadPostings(plain);
    columns = {};
    Object.keys(plain.documents).forEach(function (name) {
      columns[name] = { values: plain.documents[name][0], places: unpacked(plain.documents[name][1]) };
    });
    scores = new Int32Array(columns.kind.places.length);
    touched = new Int32Array(columns.kind.places.length);
    guard = shapes = null;
    read = new Map();
    if (waiting) texts(waiting);
  }

  // Ids, titles, phrases and scales; phrases are cut out when they are shown.
  function texts(plain) {
    waiting = data ? null : plain;
    if (waiting) return;
    var phraseCounts = unpacked(plain.counts), at = 0;
    shown = {
      ids: plain.ids.split("\n"), titles: plain.titles.split("\n"), phrases: plain.phrases.split("\n"),
      firsts: Array.from(phraseCounts, function (count) { at += count; return at - count; }), counts: phraseCounts,
      scales: plain.scales, pages: plain.pages, stems: new Map()
    };
  }

  function column(name, number) { return columns[name].values[columns[name].places[number]]; }

  function split(text) { return text ? text.split(" ") : []; }

  // Whole numbers in base 46, low digits first: the first half of the alphabet ends a number.
  function unpacked(text, count) {
    var values = new Uint8Array(128), half = data.alphabet.length / 2, found = new Int32Array(count || text.length), filled = 0;
    for (var k = 0; k < data.alphabet.length; k++) values[data.alphabet.charCodeAt(k)] = k;
    for (var i = 0, value = 0, unit = 1; i < text.length; i++) {
      var digit = values[text.charCodeAt(i)];
      if (digit < half) { found[filled++] = value + digit * unit; value = 0; unit = 1; }
      else { value += (digit - half) * unit; unit *= half; }
    }
    return found.subarray(0, filled);
  }

  function loadForms(listed) {
    forms = new Map();
    beginnings = new Set();
    longest = 0;
    listed.forEach(function (line) {
      var cut = line.lastIndexOf("="), stems = split(line.slice(0, cut));
      forms.set(stems.join(" "), line.slice(cut + 1));
      longest = Math.max(longest, stems.length);
      for (var n = 1; n <= stems.length; n++) beginnings.add(stems.slice(0, n).join(" "));
    });
  }

  // Two lists for each term, symptoms and others: where each begins, and how many entries it holds.
  function loadPostings(plain) {
    counts = unpacked(plain.counts, terms.length * 2);
    entries = unpacked(plain.entries);
    impacts = unpacked(plain.impacts, entries.length);
    starts = new Int32Array(counts.length);
    for (var list = 0, at = 0; list < counts.length; list++) {
      starts[list] = at;
      for (var end = at + counts[list], number = list & 1 ? data.symptoms : 0; at < end; at++) entries[at] = number += entries[at];
    }
  }

  // --- tokens ------------------------------------------------------------------------------------------------------------

  var ASCII = /^[\x00-\x7f]*$/, TOKEN = /[0-9]+(?:[.,][0-9]+)?|[a-z][a-z0-9]*(?:'[a-z]+)?/g, PAUSE = /[,.;:!?]/;
  var LETTERS = /^[a-z]+$/;

  function tokens(text) {
    text = cut(text);
    var plain = plainText(text), found = [], end = 0, match;
    TOKEN.lastIndex = 0;
    while (found.length < N.MAX_TOKENS && (match = TOKEN.exec(plain.text))) {
      var pause = PAUSE.test(plain.text.slice(end, match.index));
      end = TOKEN.lastIndex;
      var from = plain.at(match.index), to = plain.end(end - 1);
      writtenOut(match[0]).forEach(function (part) {
        found.push({ text: part, start: from, end: to, pause: pause });
        pause = false;
      });
    }
    return found.slice(0, N.MAX_TOKENS);
  }

  function cut(text) {
    return text.length <= N.MAX_CHARACTERS ? text : Array.from(text).slice(0, N.MAX_CHARACTERS).join("");
  }

  function plainText(text) {
    text = text.replace(/[’‘`´ʼ]/g, "'");
    if (ASCII.test(text)) {
      return { text: text.toLowerCase(), at: function (i) { return i; }, end: function (i) { return i + 1; } };
    }
    var out = "", origin = [], lengths = [], index = 0;
    for (var character of text) {
      for (var part of character.normalize("NFKD").toLowerCase()) {
        if (/\p{Mn}/u.test(part)) continue;
        for (var k = 0; k < part.length; k++) { origin.push(index); lengths.push(character.length); }
        out += part;
      }
      index += character.length;
    }
    return {
      text: out,
      at: function (i) { return origin[i]; },
      end: function (i) { return origin[i] + lengths[i]; }
    };
  }

  function writtenOut(word) {
    if (word[0] >= "0" && word[0] <= "9") return [word.replace(",", ".")];
    var mark = word.indexOf("'"), stem = mark < 0 ? word : word.slice(0, mark), ending = mark < 0 ? "" : word.slice(mark + 1);
    var table = data.tables.CONTRACTIONS;
    if (ending === "t") {
      return (own(table, stem + "t") || (stem.endsWith("n") ? stem.slice(0, -1) : stem) + " not").trim().split(" ");
    }
    return (own(table, stem) || stem).split(" ");
  }

  function own(table, key) { return Object.prototype.hasOwnProperty.call(table, key) ? table[key] : undefined; }

  // --- what a word can stand for -----------------------------------------------------------------------------------------

  // Words stay the same from key to key, all but the last one.
  function readings(word, unfinished) {
    if (unfinished) return readWord(word, true);
    if (!read.has(word)) {
      if (read.size > 5000) read.clear();
      read.set(word, readWord(word, false));
    }
    return read.get(word);
  }

  function readWord(word, unfinished) {
    var stem = stemFor(word), found = [];
    if (stem !== undefined) found.push({ stem: stem, weight: N.UNIT, how: "exact", surface: word });
    if (unfinished && word.length >= N.SHORTEST_PREFIX) {
      var weight = found.length || words.STOP.has(word) ? N.PREFIX_OF_KNOWN : N.PREFIX_WEIGHT;
      found = found.concat(endings(word, weight, stem));
    }
    if (found.length || word.length < N.SHORTEST_CORRECTED || !LETTERS.test(word)) return found;
    warm();
    return guard.has(word) ? found : corrections(word);
  }

  function popularity(stem) { return counts[2 * stem] + counts[2 * stem + 1]; }

  function best(found, limit, but) {
    found.sort(function (a, b) {
      return b.weight - a.weight || popularity(b.stem) - popularity(a.stem) || (a.surface < b.surface ? -1 : 1);
    });
    var seen = new Set(), kept = [];
    for (var i = 0; i < found.length && kept.length < limit; i++) {
      if (found[i].stem === but || seen.has(found[i].stem)) continue;
      seen.add(found[i].stem);
      kept.push(found[i]);
    }
    return kept;
  }

  // Place of the first surface that is not before the word.
  function placeOf(word) {
    var low = 0, high = sorted.length;
    while (low < high) {
      var middle = (low + high) >> 1;
      if (sorted[middle] < word) low = middle + 1; else high = middle;
    }
    return low;
  }

  function stemFor(word) {
    var place = placeOf(word);
    return sorted[place] === word ? stemOf[place] : undefined;
  }

  function endings(word, weight, stem) {
    var found = [];
    for (var i = placeOf(word); i < sorted.length && sorted[i].startsWith(word); i++) {
      if (sorted[i] !== word && popularity(stemOf[i])) {
        found.push({ stem: stemOf[i], weight: weight, how: "unfinished", surface: sorted[i] });
      }
    }
    return best(found, N.PREFIXES, stem);
  }

  function letters(word) {
    var bits = 0;
    for (var i = 0; i < word.length; i++) bits |= 1 << (word.charCodeAt(i) - 97);
    return bits;
  }

  function ones(bits) {
    var count = 0;
    while (bits) { bits &= bits - 1; count++; }
    return count;
  }

  // Surfaces of letters only, by length: their numbers and their sets of letters.
  function warm() {
    if (shapes || !data) return;
    guard = new Set(split(data.guard));
    var lists = [];
    sorted.forEach(function (word, i) {
      if (LETTERS.test(word)) (lists[word.length] = lists[word.length] || []).push(i, letters(word));
    });
    shapes = lists.map(function (list) { return Int32Array.from(list); });
  }

  function corrections(word) {
    var limit = word.length >= N.TWO_EDITS_FROM ? 2 : 1, bits = letters(word), key = sounds(word), found = [];
    for (var length = word.length - limit; length <= word.length + limit; length++) {
      var list = shapes[length] || [];
      for (var k = 0; k < list.length; k += 2) {
        if (ones(bits ^ list[k + 1]) > 2 * limit) continue;
        var surface = sorted[list[k]], edits = distance(word, surface, limit);
        if (edits > limit) continue;
        var weight = edits === 1 ? N.CORRECTED_1 : N.CORRECTED_2;
        if (sounds(surface) === key) weight += N.SOUNDS_ALIKE;
        if (surface[0] !== word[0]) weight -= N.OTHER_START;
        found.push({ stem: stemOf[list[k]], weight: weight, how: "corrected", surface: surface });
      }
    }
    found = best(found, N.CORRECTIONS);
    for (var i = 1; i < found.length; i++) found[i].weight -= N.LESS_LIKELY;
    return found;
  }

  function sounds(word) {
    return word.replace(/ph/g, "f").replace(/gh/g, "").replace(/^wr/, "r").replace(/^kn/, "n").replace(/c(?=[eiy])/g, "s")
      .replace(/[cq]/g, "k").replace(/x/g, "ks").replace(/z/g, "s").replace(/(?!^)[aeiouhwy]/g, "").replace(/(.)\1+/g, "$1");
  }

  var rows = [new Int32Array(64), new Int32Array(64), new Int32Array(64)];

  function distance(one, other, limit) {
    if (Math.abs(one.length - other.length) > limit) return limit + 1;
    if (other.length > 62) return one === other ? 0 : limit + 1;
    var earlier = rows[0], before = rows[1], row = rows[2], i, j;
    for (j = 0; j <= other.length; j++) row[j] = j;
    for (i = 1; i <= one.length; i++) {
      var spare = earlier, a = one.charCodeAt(i - 1), least = i;
      earlier = before; before = row; row = spare;
      row[0] = i;
      for (j = 1; j <= other.length; j++) {
        var b = other.charCodeAt(j - 1);
        var value = Math.min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (a === b ? 0 : 1));
        if (i > 1 && j > 1 && a === other.charCodeAt(j - 2) && one.charCodeAt(i - 2) === b) value = Math.min(value, earlier[j - 2] + 1);
        row[j] = value;
        if (value < least) least = value;
      }
      if (least > limit) return limit + 1;
    }
    return Math.min(row[other.length], limit + 1);
  }

  // --- concepts ----------------------------------------------------------------------------------------------------------

  function concepts(read) {
    var found = [], start = 0;
    while (start < read.length) {
      var match = conceptAt(read, start);
      if (match) found.push(match);
      start = match ? match.end : start + 1;
    }
    return found;
  }

  function conceptAt(read, start) {
    var match = null, partial = [["", N.UNIT]];
    for (var end = start; end < Math.min(start + longest, read.length); end++) {
      var next = [];
      partial.forEach(function (known) {
        read[end].forEach(function (reading) {
          var form = (known[0] ? known[0] + " " : "") + terms[reading.stem];
          if (beginnings.has(form)) next.push([form, Math.min(known[1], reading.weight)]);
        });
      });
      partial = next;
      var here = null;
      partial.forEach(function (known) {
        var concept = forms.get(known[0]);
        if (concept === undefined) return;
        if (!here || known[1] > here.weight || (known[1] === here.weight && concept < here.concept)) {
          here = { concept: concept, start: start, end: end + 1, weight: known[1] };
        }
      });
      match = here || match;
      if (!partial.length) break;
    }
    return match;
  }

  // --- senses ------------------------------------------------------------------------------------------------------------

  function readSenses(said, pauses, things) {
    var main = [], aside = [], opened = new Set(), contrast = -1, index;
    said.forEach(function (word, i) { if (words.CONTRAST.has(word)) contrast = i; });
    for (index = contrast + 1; index < said.length; index++) {
      var start = clause(said, pauses, index), thing = thingOf(things, start, index);
      var way = wayOf(said, index, ways.get(thing) || {});
      if (!way) continue;
      var circumstance = start > 0 && words.CIRCUMSTANCE.has(said[start - 1]) && !opened.has(start);
      opened.add(start);
      (circumstance ? aside : main).push([doesOf(said, pauses, index, way), "", thing]);
      var kept = circumstance ? aside : main, last = kept[kept.length - 1];
      last[1] = last[0][1];
      last[0] = last[0][0];
    }
    return main.length ? main : aside;
  }

  function clause(said, pauses, index) {
    var start = index;
    while (start > 0 && !pauses[start] && !words.BREAKS.has(said[start - 1])) start--;
    return start;
  }

  function thingOf(things, start, index) {
    var i;
    for (i = index - 1; i >= start; i--) if (things[i]) return things[i];
    for (i = start - 1; i >= 0; i--) if (things[i]) return things[i];
    for (i = index + 1; i < things.length; i++) if (things[i]) return things[i];
    return "";
  }

  function wayOf(said, index, mine) {
    var word = said[index], way = own(mine, word) || WAYS.get(word);
    if (!way || way === "none") return null;
    var before = index ? said[index - 1] : "", after = index + 1 < said.length ? said[index + 1] : "";
    if (word === "lower" && !words.VERB_BEFORE.has(before)) return null;
    if (!words.PARTICLES.has(word)) {
      var named = words.KEYS.has(before) ||
        (words.DETERMINERS.has(before) && (index < 2 || words.KEYS.has(said[index - 2]) || way === "on"));
      return named ? null : way;
    }
    if (words.DETERMINERS.has(after) || (word === "up" && words.UP_IDIOMS.has(before))) return null;
    if ((word === "in" || word === "on") && after && !words.BREAKS.has(after) && !words.HOLD.has(before) && !words.MOTION.has(before)) return null;
    return way;
  }

  function doesOf(said, pauses, index, way) {
    var start = Math.max(clause(said, pauses, index), index - N.REACH), before = said.slice(start, index);
    var negated = before.filter(function (word) { return words.NEGATIONS.has(word); }).length % 2 === 1;
    if (before.length && words.STUCK.has(before[before.length - 1])) return [negated ? "by-itself" : "no", OPPOSITE_STATE[way]];
    if (negated) return ["no", way];
    var around = before.concat(said.slice(index + 1, index + 1 + N.REACH));
    function any(list, set) { return list.some(function (word) { return set.has(word); }); }
    if (any(around, words.SLOW)) return ["slow", way];
    if (any(around, words.UNASKED)) return ["by-itself", way];
    if (any(around, words.FAST)) return ["fast", way];
    return [!words.PARTICLES.has(said[index]) || any(before.slice(-3), words.MOTION) ? "by-itself" : "is", way];
  }

  function endState(sense) { return sense[0] === "no" ? OPPOSITE_STATE[sense[1]] : sense[1]; }

  function opposite(one, other) {
    if (one[1] === "on" || one[1] === "off") return endState(one) !== endState(other);
    if (one[0] === "is" || other[0] === "is") {
      var states = (one[0] === "is" || one[0] === "no") && (other[0] === "is" || other[0] === "no");
      return states && endState(one) !== endState(other);
    }
    return (one[1] !== other[1]) !== ((one[0] === "no") !== (other[0] === "no"));
  }

  function contradicts(senses, entry, about) {
    if (!entry || !entry.length) return false;
    var onTopic = senses.filter(function (one) {
      var axis = one[1] === entry[1] || one[1] === OPPOSITE_STATE[entry[1]];
      return axis && (!one[2] || about.indexOf(one[2]) >= 0);
    });
    return onTopic.length > 0 && onTopic.every(function (one) { return opposite(one, entry); });
  }

  function senseFactor(senses, entry, about) {
    if (contradicts(senses, entry, about)) return N.OPPOSITE;
    var agrees = entry && senses.some(function (one) {
      return one[0] === entry[0] && one[1] === entry[1] && about.indexOf(one[2]) >= 0;
    });
    return agrees ? N.AGREES : N.UNIT;
  }

  // --- the query ---------------------------------------------------------------------------------------------------------

  function readQuery(text, typing) {
    var spoken = join(tokens(text));
    var unfinished = typing && spoken.length > 0 && spoken[spoken.length - 1].end === cut(text).length && cut(text) === text;
    var found = [], read = [], places = [], value = measured(spoken.map(function (token) { return token.text; }));
    spoken.forEach(function (token, place) {
      var last = unfinished && place === spoken.length - 1;
      if (value >= 0 && (place === value || place === value + 1)) return;
      if (words.STOP.has(token.text) && !last) return;
      found.push(token);
      read.push(readings(token.text, last));
      places.push(place);
    });
    var matches = concepts(read), named = [];
    matches.forEach(function (m) { if (isPart.has(m.concept) && named.indexOf(m.concept) < 0) named.push(m.concept); });
    return {
      text: text, words: found, readings: read, matches: matches, features: features(read, matches), parts: named,
      senses: senses(spoken, read, places, matches), spoken: spoken.map(function (token) { return token.text; }),
      corrected: corrected(found, read), judged: judged(found, read, unfinished)
    };
  }

  function join(spoken) {
    for (var i = spoken.length - 2; i >= 0; i--) {
      var first = spoken[i], second = spoken[i + 1];
      if (/^(tp|[a-z])$/.test(first.text) && /^[0-9]{1,3}$/.test(second.text) && stemFor(first.text + second.text) !== undefined) {
        spoken.splice(i, 2, { text: first.text + second.text, start: first.start, end: second.end, pause: first.pause });
      }
    }
    return spoken;
  }

  function features(read, matches) {
    var weights = new Map();
    function add(term, weight) { if (weight > (weights.get(term) || 0)) weights.set(term, weight); }
    var naming = new Set();
    matches.forEach(function (m) { if (isPart.has(m.concept)) for (var i = m.start; i < m.end; i++) naming.add(i); });
    read.forEach(function (word, place) {
      word.forEach(function (r) { add(r.stem, naming.has(place) ? Math.floor(r.weight * N.PART_WORD / N.UNIT) : r.weight); });
    });
    matches.forEach(function (m) {
      var term = termNumber.get("=" + m.concept);
      if (term !== undefined) add(term, Math.floor(m.weight * N.CONCEPT_WEIGHT / N.UNIT));
    });
    return weights;
  }

  function senses(spoken, read, places, matches) {
    var said = spoken.map(function (token) { return token.text; }), things = spoken.map(function () { return ""; });
    places.forEach(function (place, i) { if (read[i].length && read[i][0].how === "corrected") said[place] = read[i][0].surface; });
    matches.forEach(function (m) { if (isPart.has(m.concept)) things[places[m.start]] = m.concept; });
    return readSenses(said, spoken.map(function (token) { return token.pause; }), things);
  }

  // Each word that counts, without numbers, barely begun words and unknown empty ones, and whether the manual knows it.
  function judged(found, read, unfinished) {
    var pairs = [];
    found.forEach(function (token, i) {
      var begun = unfinished && i === found.length - 1 && token.text.length < N.SHORTEST_STRANGE;
      var known = read[i].some(function (r) { return r.weight >= N.KNOWN_FROM; });
      var empty = words.EMPTY.has(token.text) || token.text.length < N.SHORTEST_CORRECTED;
      if (begun || /^[0-9]/.test(token.text) || (!known && empty)) return;
      pairs.push([token.text, known]);
    });
    return pairs;
  }

  // The words that the manual does not know, when the best score of all entries is not enough for a query with so many of them.
  function unknown(asked) {
    var strange = asked.judged.filter(function (pair) { return !pair[1]; }), all = asked.judged.length, best = 0;
    if (!strange.length) return [];
    [false, true].forEach(function (other) {
      rank(asked, other, 1, null).forEach(function (hit) { best = Math.max(best, hit.score); });
    });
    if (best * (all - strange.length) >= N.ENOUGH * all) return [];
    return Array.from(new Set(strange.map(function (pair) { return pair[0]; })));
  }

  function corrected(found, read) {
    var pairs = new Map();
    found.forEach(function (token, i) {
      if (read[i].length && read[i][0].how === "corrected") pairs.set(token.text, read[i][0].surface);
    });
    return Array.from(pairs);
  }

  // --- ranking -----------------------------------------------------------------------------------------------------------

  function partFactor(asked, parts) {
    if (!asked.parts.length) return N.UNIT;
    var hits = 0;
    for (var i = 0; i < asked.parts.length; i++) if (parts.indexOf(asked.parts[i]) >= 0) hits++;
    return N.UNIT + Math.floor(N.PART_BONUS * hits / asked.parts.length);
  }

  function rank(asked, other, limit, wanted) {
    var count = 0, top = [];
    asked.features.forEach(function (weight, term) {
      var list = 2 * term + (other ? 1 : 0);
      for (var at = starts[list], end = at + counts[list]; at < end; at++) {
        var number = entries[at];
        if (scores[number] === 0) touched[count++] = number;
        scores[number] += weight * impacts[at];
      }
    });
    for (var i = 0; i < count; i++) {
      var n = touched[i], sum = scores[n];
      scores[n] = 0;
      if (wanted && !wanted(column("system", n), column("limits", n))) continue;
      // No factor lifts a sum beyond this: entries that cannot enter the list need no closer look.
      if (top.length === limit && Math.floor(Math.floor(sum * (N.UNIT + N.PART_BONUS) / N.UNIT) * N.AGREES / N.UNIT) < top[limit - 1].score) continue;
      var parts = column("parts", n), score = Math.floor(sum * partFactor(asked, parts) / N.UNIT);
      if (asked.senses.length) score = Math.floor(score * senseFactor(asked.senses, column("sense", n), parts) / N.UNIT);
      if (score > 0) insert(top, { number: n, score: score }, limit);
    }
    return top;
  }

  function insert(top, hit, limit) {
    var at = top.length;
    while (at > 0 && (top[at - 1].score < hit.score || (top[at - 1].score === hit.score && top[at - 1].number > hit.number))) at--;
    if (at >= limit) return;
    top.splice(at, 0, hit);
    if (top.length > limit) top.pop();
  }

  function shared(asked, text) {
    var stems = shown.stems.get(text), sum = 0;
    if (!stems) {
      stems = new Set();
      tokens(text).forEach(function (token) {
        var stem = words.STOP.has(token.text) ? undefined : stemFor(token.text);
        if (stem !== undefined) stems.add(stem);
      });
      shown.stems.set(text, stems);
    }
    stems.forEach(function (stem) { sum += asked.features.get(stem) || 0; });
    return sum;
  }

  function nearestPhrase(asked, number) {
    var best = shown.titles[number], most = shared(asked, best);
    for (var i = shown.firsts[number], end = i + shown.counts[number]; i < end; i++) {
      var worth = shared(asked, shown.phrases[i]);
      if (worth > most) { best = shown.phrases[i]; most = worth; }
    }
    return best;
  }

  // Spans of a text that the query shares, concepts included: [[start, end], ...] in order.
  function marks(asked, text) {
    var spoken = tokens(text).filter(function (token) { return !words.STOP.has(token.text); });
    var read = spoken.map(function (token) { return readings(token.text, false); });
    var wanted = new Set(asked.matches.map(function (m) { return m.concept; })), spans = new Map();
    function mark(token) { spans.set(token.start, token.end); }
    spoken.forEach(function (token, i) { if (read[i].some(function (r) { return asked.features.has(r.stem); })) mark(token); });
    concepts(read).forEach(function (m) { if (wanted.has(m.concept)) spoken.slice(m.start, m.end).forEach(mark); });
    return Array.from(spans).sort(function (a, b) { return a[0] - b[0]; });
  }

  function outcomeOf(scale, spoken) {
    if (!scale || !scale.length || !scale[1].every(function (name) { return spoken.indexOf(name) >= 0; })) return "";
    var place = measured(spoken);
    if (place < 0 || own(data.units, spoken[place + 1]) !== scale[0]) return "";
    var value = Number(spoken[place]);
    var range = scale[2].find(function (r) { return (r[0] === null || r[0] <= value) && (r[1] === null || value < r[1]); });
    return range ? range[2] : "";
  }

  // Place of the first number with a unit after it; -1 without one.
  function measured(spoken) {
    return spoken.findIndex(function (word, i) {
      return /^[0-9]/.test(word) && i + 1 < spoken.length && own(data.units, spoken[i + 1]) !== undefined;
    });
  }

  // Ranks by the query. Options: typing (the last word may be unfinished), wanted (system, limits of units → keep it?), limit.
  function ask(text, options) {
    options = options || {};
    if (!data || !shown) return null;
    var asked = readQuery(String(text), options.typing);
    function hits(other, limit) {
      var ranked = rank(asked, other, limit, options.wanted);
      return ranked.filter(function (hit) { return hit.score * N.UNIT >= ranked[0].score * N.SHOWN_FROM; }).map(function (hit) {
        var n = hit.number, kind = data.kinds[column("kind", n)], id = shown.ids[n];
        return {
          kind: kind, id: id, title: shown.titles[n], page: shown.pages[kind].replace("*", id), system: column("system", n), score: hit.score,
          phrase: nearestPhrase(asked, n), outcome: outcomeOf(shown.scales[n], asked.spoken)
        };
      });
    }
    return {
      query: asked, symptoms: hits(false, options.limit || N.RESULTS), others: hits(true, options.limit || N.OTHERS), unknown: unknown(asked)
    };
  }

  // Ids and scores of the best symptoms alone.
  function ids(text, limit, typing) {
    return rank(readQuery(text, typing), false, limit, null).map(function (hit) { return [shown.ids[hit.number], hit.score]; });
  }

  return {
    load: load, texts: texts, warm: warm, ask: ask, ids: ids, marks: marks,
    get data() { return shown && data; }
  };
})();
