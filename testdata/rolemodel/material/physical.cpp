// Renders notes with the physical and modal instruments of the Synthesis ToolKit (STK 4.6).
// usage: physical INSTRUMENT RATE SAMPLES VOICES RAWWAVES < "c number value" and "n start seconds hertz amplitude" lines > float32 mono
#include <stk/BandedWG.h>
#include <stk/BeeThree.h>
#include <stk/BlowHole.h>
#include <stk/Bowed.h>
#include <stk/Brass.h>
#include <stk/Clarinet.h>
#include <stk/Flute.h>
#include <stk/Mandolin.h>
#include <stk/ModalBar.h>
#include <stk/Moog.h>
#include <stk/PercFlut.h>
#include <stk/Rhodey.h>
#include <stk/Saxofony.h>
#include <stk/StifKarp.h>
#include <stk/TubeBell.h>
#include <stk/Wurley.h>
#include <algorithm>
#include <cstdio>
#include <iostream>
#include <sstream>
#include <string>
#include <vector>
using namespace stk;

static Instrmnt *make(const std::string &k) {
  if (k == "bowed") return new Bowed(25);
  if (k == "brass") return new Brass(25);
  if (k == "clarinet") return new Clarinet(40);
  if (k == "blowhole") return new BlowHole(40);
  if (k == "saxofony") return new Saxofony(40);
  if (k == "flute") return new Flute(80);
  if (k == "mandolin") return new Mandolin(40);
  if (k == "stifkarp") return new StifKarp(25);
  if (k == "modalbar") return new ModalBar;
  if (k == "rhodey") return new Rhodey;
  if (k == "wurley") return new Wurley;
  if (k == "organ") return new BeeThree;
  if (k == "bell") return new TubeBell;
  if (k == "percflute") return new PercFlut;
  if (k == "moog") return new Moog;
  if (k == "banded") return new BandedWG;
  return nullptr;
}

struct Event { long at; int voice; bool on; double f, a; };

int main(int argc, char **argv) {
  if (argc != 6) { std::fprintf(stderr, "five arguments expected\n"); return 2; }
  double fs = std::stod(argv[2]);
  long n = std::stol(argv[3]);
  int voices = std::stoi(argv[4]);
  Stk::setSampleRate(fs);
  Stk::setRawwavePath(argv[5]);
  std::vector<Instrmnt *> v;
  for (int i = 0; i < voices; i++) {
    v.push_back(make(argv[1]));
    if (!v.back()) { std::fprintf(stderr, "no such instrument\n"); return 2; }
  }
  std::vector<Event> ev;
  std::string line;
  int next = 0;
  while (std::getline(std::cin, line)) {
    std::istringstream s(line);
    char c;
    s >> c;
    if (c == 'c') {
      int num; double val;
      s >> num >> val;
      for (auto i : v) i->controlChange(num, val);
    } else {
      double t, d, f, a;
      s >> t >> d >> f >> a;
      ev.push_back({long(t * fs), next, true, f, a});
      ev.push_back({long((t + d) * fs), next, false, f, a});
      next = (next + 1) % voices;
    }
  }
  std::stable_sort(ev.begin(), ev.end(), [](const Event &a, const Event &b) { return a.at < b.at; });
  std::vector<float> out(n, 0.f);
  std::vector<double> sounding(voices, -1);
  size_t k = 0;
  for (long i = 0; i < n; i++) {
    for (; k < ev.size() && ev[k].at <= i; k++) {
      Event &e = ev[k];
      if (e.on) { v[e.voice]->noteOn(e.f, e.a); sounding[e.voice] = e.f; }
      else if (sounding[e.voice] == e.f) v[e.voice]->noteOff(.5);
    }
    double y = 0;
    for (int j = 0; j < voices; j++) if (sounding[j] > 0) y += v[j]->tick();
    out[i] = float(y);
  }
  std::fwrite(out.data(), 4, n, stdout);
  return 0;
}
