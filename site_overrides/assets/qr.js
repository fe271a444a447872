// QR codes by ISO/IEC 18004: versions 1 to 15, error correction level M, alphanumeric and byte mode, the mask of least penalty.
// kbQr.of(text) → {version, mask, mode, size, dark: rows of true and false}, or null when the text is too long.
var kbQr = (function () {
  "use strict";

  // Of level M, by version: error correction codewords of a block, and blocks (table 9 of the standard).
  var PER_BLOCK = [0, 10, 16, 26, 18, 24, 16, 18, 22, 22, 26, 30, 22, 22, 24, 24], BLOCKS = [0, 1, 1, 1, 2, 2, 4, 4, 4, 5, 5, 5, 8, 9, 9, 10];
  var MOST = 15, QUIET = 4, ALPHANUMERIC = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:";
  var MASKS = [
    function (row, column) { return (row + column) % 2 === 0; },
    function (row) { return row % 2 === 0; },
    function (row, column) { return column % 3 === 0; },
    function (row, column) { return (row + column) % 3 === 0; },
    function (row, column) { return (Math.floor(row / 2) + Math.floor(column / 3)) % 2 === 0; },
    function (row, column) { return row * column % 2 + row * column % 3 === 0; },
    function (row, column) { return (row * column % 2 + row * column % 3) % 2 === 0; },
    function (row, column) { return ((row + column) % 2 + row * column % 3) % 2 === 0; }
  ];

  // --- the text as codewords ---

  function bitsOf(number, count) {
    var found = [];
    for (count -= 1; count >= 0; count -= 1) { found.push(number >> count & 1); }
    return found;
  }

  function bytesOf(text) {
    return unescape(encodeURIComponent(text)).split("").map(function (sign) { return sign.charCodeAt(0); });
  }

  function modeOf(text) {
    return text.split("").every(function (sign) { return ALPHANUMERIC.indexOf(sign) >= 0; }) ? "alphanumeric" : "byte";
  }

  // Mode, count and contents as bits.
  function segment(text, version) {
    var values, bits, at;
    if (modeOf(text) === "byte") {
      values = bytesOf(text);
      bits = bitsOf(4, 4).concat(bitsOf(values.length, version < 10 ? 8 : 16));
      values.forEach(function (value) { bits = bits.concat(bitsOf(value, 8)); });
      return bits;
    }
    values = text.split("").map(function (sign) { return ALPHANUMERIC.indexOf(sign); });
    bits = bitsOf(2, 4).concat(bitsOf(values.length, version < 10 ? 9 : 11));
    for (at = 0; at < values.length; at += 2) {
      bits = bits.concat(at + 1 < values.length ? bitsOf(values[at] * 45 + values[at + 1], 11) : bitsOf(values[at], 6));
    }
    return bits;
  }

  // Ends the bits and fills them up to `count` codewords.
  function padded(bits, count) {
    var full = bits.concat(bitsOf(0, Math.min(4, count * 8 - bits.length))), words = [], at;
    while (full.length % 8) { full.push(0); }
    for (at = 0; at < full.length; at += 8) { words.push(parseInt(full.slice(at, at + 8).join(""), 2)); }
    for (at = 0; words.length < count; at += 1) { words.push(at % 2 ? 0x11 : 0xEC); }
    return words;
  }

  // --- error correction ---

  // The product in GF(256) by x^8 + x^4 + x^3 + x^2 + 1.
  function times(a, b) {
    var product = 0, bit;
    for (bit = 7; bit >= 0; bit -= 1) { product = product << 1 ^ (product >> 7) * 0x11D ^ (b >> bit & 1) * a; }
    return product;
  }

  // The generator (x - 1)(x - 2)(x - 4)… of that degree, without its first coefficient.
  function generator(degree) {
    var found = [1], root = 1, at;
    for (at = 0; at < degree; at += 1) {
      found = found.concat([0]).map(function (value, index) { return value ^ (index ? times(found[index - 1], root) : 0); });
      root = times(root, 2);
    }
    return found.slice(1);
  }

  function correction(words, degree) {
    var divisor = generator(degree), rest = divisor.map(function () { return 0; });
    words.forEach(function (word) {
      var factor = word ^ rest[0];
      rest = rest.slice(1).concat([0]).map(function (value, index) { return value ^ times(divisor[index], factor); });
    });
    return rest;
  }

  // Data and correction of all blocks, taken from each in turn.
  function interleaved(words, version, total) {
    var count = BLOCKS[version], degree = PER_BLOCK[version], short = Math.floor(total / count) - degree, longer = total % count, blocks = [], at = 0, index, length;
    for (index = 0; index < count; index += 1) {
      length = short + (index >= count - longer ? 1 : 0);
      blocks.push(words.slice(at, at + length));
      at += length;
    }
    return inTurn(blocks).concat(inTurn(blocks.map(function (block) { return correction(block, degree); })));
  }

  function inTurn(blocks) {
    var found = [], longest = Math.max.apply(null, blocks.map(function (block) { return block.length; })), at;
    function take(block) { if (at < block.length) { found.push(block[at]); } }
    for (at = 0; at < longest; at += 1) { blocks.forEach(take); }
    return found;
  }

  // --- the symbol ---

  function square(size) {
    return Array.from({ length: size }, function () { return new Array(size).fill(null); });
  }

  // Centres of the alignment patterns, on either axis.
  function centres(version) {
    var count = Math.floor(version / 7) + 2, last = 4 * version + 10, step = Math.ceil((4 * version + 4) / (2 * count - 2)) * 2, found = [], at;
    if (version === 1) { return []; }
    for (at = last; found.length < count - 1; at -= step) { found.unshift(at); }
    return [6].concat(found);
  }

  // Rings of modules around a centre, dark where `ring` says so; what lies outside the symbol is left out.
  function rings(cells, row, column, radius, ring) {
    var r, c;
    for (r = Math.max(0, row - radius); r <= Math.min(cells.length - 1, row + radius); r += 1) {
      for (c = Math.max(0, column - radius); c <= Math.min(cells.length - 1, column + radius); c += 1) {
        cells[r][c] = ring[Math.max(Math.abs(r - row), Math.abs(c - column))];
      }
    }
  }

  // Everything but data; a cell that is null is for data.
  function patterns(version) {
    var size = 4 * version + 17, cells = square(size), at, lines = centres(version), last = lines.length - 1;
    for (at = 0; at < size; at += 1) { cells[6][at] = cells[at][6] = at % 2 === 0; }
    lines.forEach(function (row, i) {
      lines.forEach(function (column, j) {
        if (!(i === 0 && j === 0 || i === 0 && j === last || i === last && j === 0)) { rings(cells, row, column, 2, [true, false, true]); }
      });
    });
    [[3, 3], [3, size - 4], [size - 4, 3]].forEach(function (place) { rings(cells, place[0], place[1], 4, [true, true, false, true, false]); });
    writeFormat(cells, 0);
    if (version >= 7) { writeVersion(cells, version); }
    return cells;
  }

  // The rest of a BCH code's division, behind its data.
  function withRest(data, bits, divisor) {
    var rest = data << bits, top;
    for (top = 31 - Math.clz32(divisor); rest >> top; ) { rest ^= divisor << 31 - Math.clz32(rest) - top; }
    return data << bits | rest;
  }

  // Level M (00) and the mask.
  function format(mask) {
    return withRest(mask, 10, 0x537) ^ 0x5412;
  }

  function writeFormat(cells, mask) {
    var size = cells.length, bits = format(mask);
    function bit(at) { return (bits >> at & 1) === 1; }
    [0, 1, 2, 3, 4, 5, 7, 8].forEach(function (row, at) { cells[row][8] = bit(at); });
    [7, 5, 4, 3, 2, 1, 0].forEach(function (column, at) { cells[8][column] = bit(at + 8); });
    for (var at = 0; at < 8; at += 1) { cells[8][size - 1 - at] = bit(at); }
    for (at = 8; at < 15; at += 1) { cells[size - 15 + at][8] = bit(at); }
    cells[size - 8][8] = true;
  }

  function versionBits(version) {
    return withRest(version, 12, 0x1F25);
  }

  function writeVersion(cells, version) {
    var bits = versionBits(version), at, near, far;
    for (at = 0; at < 18; at += 1) {
      near = Math.floor(at / 3);
      far = cells.length - 11 + at % 3;
      cells[near][far] = cells[far][near] = (bits >> at & 1) === 1;
    }
  }

  // Cells for data in the order of their bits: two columns at a time from the right, up and down in turn, past the timing column.
  function dataCells(cells) {
    var size = cells.length, found = [], right, step, row;
    for (right = size - 1; right > 0; right -= right === 8 ? 3 : 2) {
      for (step = 0; step < size; step += 1) {
        row = (right > 6 ? right : right + 1) / 2 % 2 === (size - 1) / 2 % 2 ? size - 1 - step : step;
        [right, right - 1].forEach(function (column) { if (cells[row][column] === null) { found.push([row, column]); } });
      }
    }
    return found;
  }

  function filled(cells, places, words, mask) {
    var made = cells.map(function (row) { return row.slice(); });
    places.forEach(function (place, at) {
      var bit = at < words.length * 8 && (words[at >> 3] >> 7 - (at & 7) & 1) === 1;
      made[place[0]][place[1]] = bit !== MASKS[mask](place[0], place[1]);
    });
    writeFormat(made, mask);
    return made;
  }

  // --- the best mask ---

  // Penalty of one line: runs of five and more, and what looks like a finder with four light modules on a side.
  function linePenalty(line) {
    var text = line.map(Number).join(""), sum = 0;
    (text.match(/0{5,}|1{5,}/g) || []).forEach(function (run) { sum += run.length - 2; });
    ["10111010000", "00001011101"].forEach(function (pattern) {
      for (var at = text.indexOf(pattern); at >= 0; at = text.indexOf(pattern, at + 1)) { sum += 40; }
    });
    return sum;
  }

  function penalty(dark) {
    var size = dark.length, sum = 0, count = 0, row, column, same;
    for (row = 0; row < size; row += 1) {
      sum += linePenalty(dark[row]) + linePenalty(dark.map(function (line) { return line[row]; }));
      for (column = 0; column < size; column += 1) {
        count += dark[row][column] ? 1 : 0;
        same = row && column && dark[row][column] === dark[row - 1][column] && dark[row][column] === dark[row][column - 1] && dark[row][column] === dark[row - 1][column - 1];
        sum += same ? 3 : 0;
      }
    }
    return sum + 10 * Math.floor(Math.abs(count * 20 - size * size * 10) / (size * size));
  }

  function best(symbols) {
    return symbols.map(function (dark, mask) { return [penalty(dark), mask]; }).sort(function (a, b) { return a[0] - b[0] || a[1] - b[1]; })[0][1];
  }

  // `wanted` may hold {version, mask} for tests.
  function of(text, wanted) {
    var version, cells, places, total, count, bits, words, mask;
    for (version = wanted && wanted.version || 1; version <= MOST; version += 1) {
      cells = patterns(version);
      places = dataCells(cells);
      total = places.length >> 3;
      count = total - PER_BLOCK[version] * BLOCKS[version];
      bits = segment(text, version);
      if (bits.length <= count * 8) { break; }
    }
    if (version > MOST) { return null; }
    words = interleaved(padded(bits, count), version, total);
    mask = wanted && wanted.mask !== undefined ? wanted.mask : best(MASKS.map(function (unused, index) { return filled(cells, places, words, index); }));
    return { version: version, mask: mask, mode: modeOf(text), size: cells.length, dark: filled(cells, places, words, mask) };
  }

  // --- the drawing ---

  // Black on white with the quiet zone of four modules, whatever the page's colours are.
  function svg(symbol, label) {
    var side = symbol.size + 2 * QUIET, path = "", made = element("svg", { viewBox: "0 0 " + side + " " + side, "class": "qr-code", role: "img", "aria-label": label, "shape-rendering": "crispEdges" });
    symbol.dark.forEach(function (line, row) {
      line.map(Number).join("").replace(/1+/g, function (run, at) { path += "M" + (at + QUIET) + " " + (row + QUIET) + "h" + run.length + "v1h-" + run.length + "z"; });
    });
    made.appendChild(element("rect", { width: side, height: side, fill: "#fff" }));
    made.appendChild(element("path", { d: path, fill: "#000" }));
    return made;
  }

  function element(tag, attributes) {
    var made = document.createElementNS("http://www.w3.org/2000/svg", tag);
    Object.keys(attributes).forEach(function (name) { made.setAttribute(name, attributes[name]); });
    return made;
  }

  return { of: of, svg: svg, correction: correction, format: format, versionBits: versionBits, penalty: penalty, padded: padded, segment: segment };
})();
