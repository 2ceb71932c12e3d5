// Text that was packed with deflate (RFC 1951, 1996) and written in base64, unpacked: no browser need know how.
//
// Packed.text(base64) -> string
// An error is thrown where what is packed is broken off or is no deflate.
const Packed = (function () {
  // RFC 1951, 3.2.5: the least length or distance of each symbol, and the bits that follow it.
  const LENGTH = [3, 4, 5, 6, 7, 8, 9, 10, 11, 13, 15, 17, 19, 23, 27, 31, 35, 43, 51, 59, 67, 83, 99, 115, 131, 163, 195, 227, 258];
  const LENGTH_BITS = [0, 0, 0, 0, 0, 0, 0, 0, 1, 1, 1, 1, 2, 2, 2, 2, 3, 3, 3, 3, 4, 4, 4, 4, 5, 5, 5, 5, 0];
  const FAR = [1, 2, 3, 4, 5, 7, 9, 13, 17, 25, 33, 49, 65, 97, 129, 193, 257, 385, 513, 769, 1025, 1537, 2049, 3073, 4097, 6145,
    8193, 12289, 16385, 24577];
  const FAR_BITS = [0, 0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 5, 5, 6, 6, 7, 7, 8, 8, 9, 9, 10, 10, 11, 11, 12, 12, 13, 13];
  // 3.2.7: the order in which lengths of codes are told.
  const ORDER = [16, 17, 18, 0, 8, 7, 9, 6, 10, 5, 11, 4, 12, 3, 13, 2, 14, 1, 15];

  // A code from the lengths of its words (3.2.2): how many there are of each length, and the symbols in order.
  function codeOf(lengths) {
    const count = new Array(16).fill(0), start = [0, 0], symbols = [];
    for (const n of lengths) count[n]++;
    for (let n = 1; n < 15; n++) start[n + 1] = start[n] + count[n];
    lengths.forEach((n, symbol) => { if (n) symbols[start[n]++] = symbol; });
    return { count, symbols };
  }
  const some = (n, length) => new Array(n).fill(length);
  const FIXED = [codeOf([...some(144, 8), ...some(112, 9), ...some(24, 7), ...some(8, 8)]), codeOf(some(30, 5))];

  function inflate(data) {
    let out = new Uint8Array(data.length * 4 + 1024), to = 0, at = 0, held = 0, holds = 0;
    function bits(n) {
      while (holds < n) {
        if (at >= data.length) throw new Error("packed text is broken off");
        held |= data[at++] << holds;
        holds += 8;
      }
      const value = held & ((1 << n) - 1);
      held >>>= n;
      holds -= n;
      return value;
    }
    function symbol(code) {
      let word = 0, first = 0, index = 0;
      for (let n = 1; n < 16; n++) {
        word |= bits(1);
        const count = code.count[n];
        if (word - count < first) return code.symbols[index + word - first];
        index += count;
        first = (first + count) << 1;
        word <<= 1;
      }
      throw new Error("packed text has a word that is none");
    }
    function room(n) {
      if (to + n <= out.length) return;
      const more = new Uint8Array(2 * out.length + n);
      more.set(out);
      out = more;
    }
    function stored() {
      holds = held = 0;
      const n = bits(16);
      bits(16);
      if (at + n > data.length) throw new Error("packed text is broken off");
      room(n);
      out.set(data.subarray(at, at + n), to);
      to += n;
      at += n;
    }
    function codes() {
      const many = bits(5) + 257, far = bits(5) + 1, told = bits(4) + 4, first = some(19, 0), lengths = [];
      for (let i = 0; i < told; i++) first[ORDER[i]] = bits(3);
      const code = codeOf(first);
      while (lengths.length < many + far) {
        const n = symbol(code);
        if (n < 16) lengths.push(n);
        else if (n === 16) lengths.push(...some(3 + bits(2), lengths[lengths.length - 1]));
        else lengths.push(...some(n === 17 ? 3 + bits(3) : 11 + bits(7), 0));
      }
      return [codeOf(lengths.slice(0, many)), codeOf(lengths.slice(many))];
    }
    function block([near, far]) {
      for (;;) {
        const n = symbol(near);
        if (n === 256) return;
        room(258);
        if (n < 256) out[to++] = n;
        else {
          const length = LENGTH[n - 257] + bits(LENGTH_BITS[n - 257]), of = symbol(far), back = FAR[of] + bits(FAR_BITS[of]);
          if (!(back <= to)) throw new Error("packed text looks back before its start");
          for (let i = 0; i < length; i++, to++) out[to] = out[to - back];
        }
      }
    }
    let last = 0;
    while (!last) {
      last = bits(1);
      const kind = bits(2);
      if (kind === 0) stored();
      else block(kind === 1 ? FIXED : codes());
    }
    return out.subarray(0, to);
  }
  function text(base64) {
    const raw = atob(base64), data = new Uint8Array(raw.length);
    for (let i = 0; i < raw.length; i++) data[i] = raw.charCodeAt(i);
    return new TextDecoder().decode(inflate(data));
  }
  return { text };
})();
