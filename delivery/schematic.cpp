// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Order of work: symbols block their room; references take theirs; pins, outputs and supplies get
// flags; nets are wired, short ones first; values go where room is left.
#include "delivery/schematic.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "base/text.h"
#include "delivery/layout.h"
#include "delivery/values.h"

namespace pb::delivery {
namespace {

constexpr double kText = 1.5, kPitch = 1.8;  // size of texts and distance of their lines
constexpr double kAscent = 1.15, kDescent = 0.4;
constexpr double kLineWidth = 0.16;
constexpr int kKeyPitch = 3;

double width_of(std::string_view text) {
  const auto starts = std::count_if(text.begin(), text.end(), [](char c) {
    return (static_cast<unsigned char>(c) & 0xC0) != 0x80;
  });
  return kCharacterWidth * kText * static_cast<double>(starts);
}

struct TextLine {
  XY at;
  std::string text;
  Anchor anchor = Anchor::start;
  bool strong = false;
};

/// A box of `lines` lines whose first base line is at `at`.
Box text_box(XY at, double width, std::size_t lines, Anchor anchor) {
  const double left = anchor == Anchor::start    ? at.x
                      : anchor == Anchor::middle ? at.x - width / 2
                                                 : at.x - width;
  return {left, at.y - kAscent, left + width,
          at.y + kDescent + kPitch * static_cast<double>(lines - 1)};
}

Box grown(const Box& b, double by) {
  return {b.left - by, b.top - by, b.right + by, b.bottom + by};
}

enum class FlagKind { pin, output, label, supply, ground };

struct Flag {
  FlagKind kind;
  GridPoint at;
  int side = 1;  // the text's: 1 right, -1 left
  std::string text;
};

class Drawing {
 public:
  explicit Drawing(const Design& design)
      : design_(design), layout_(lay_out(design)), grid_(make_grid(layout_)) {
    for (const Measure& m : design.wiring.measures) {
      analog_[m.reference] = "analog " + m.winding;
      if (!m.reached.empty()) analog_[m.reached] = "reached " + m.winding;
    }
  }

  std::string draw() {
    place_symbols();
    place_rails();
    for (const Item& item : layout_.items) place_texts(item);
    wire_supplies();
    place_pin_flags();
    wire_nets();
    place_values();
    return render();
  }

 private:
  static WireGrid make_grid(const Layout& layout) {
    return WireGrid(-2, -4, layout.rows.front().right + 2, layout.rows.back().ground_y + 4);
  }

  int net_of(const std::string& node) {
    return nets_.try_emplace(node, static_cast<int>(nets_.size())).first->second;
  }

  void place_symbols() {
    for (const Item& item : layout_.items) {
      grid_.block(grown(body_box(item), 0.4));
      for (const Terminal& t : item.terminals)  // leads
        grid_.block({double(std::min(t.at.x, t.dx != 0 ? item.at.x : t.at.x)),
                     double(std::min(t.at.y, t.dy != 0 ? item.at.y : t.at.y)),
                     double(std::max(t.at.x, t.dx != 0 ? item.at.x : t.at.x)),
                     double(std::max(t.at.y, t.dy != 0 ? item.at.y : t.at.y))});
    }
    for (const Item& item : layout_.items)
      for (const Terminal& t : item.terminals) {
        grid_.reserve(t.at, net_of(t.node));
        by_net_[{t.node, t.row}].push_back(t);
      }
  }

  struct Spot {
    XY at;
    Anchor anchor;
  };
  /// Places for a block of texts beside a symbol, best first.
  static std::vector<Spot> spots(const Item& item, std::size_t lines) {
    const Box b = body_box(item);
    const double half = kPitch * static_cast<double>(lines) / 2;
    const double middle = (b.top + b.bottom) / 2 - half + kAscent + 0.15;
    const bool upright = item.terminals.empty() || item.terminals.front().dy != 0;
    const Spot right{{b.right + 0.5, middle}, Anchor::start};
    const Spot left{{b.left - 0.5, middle}, Anchor::end};
    const Spot above{{double(item.at.x), b.top - 2 * half + kAscent - 0.2}, Anchor::middle};
    const Spot below{{double(item.at.x), b.bottom + kAscent + 0.5}, Anchor::middle};
    std::vector<Spot> out = upright ? std::vector{right, left} : std::vector{above, below};
    for (const double up : {-2.0, 2.0, -4.0, 4.0}) {
      out.push_back({{right.at.x, right.at.y + up}, Anchor::start});
      out.push_back({{left.at.x, left.at.y + up}, Anchor::end});
    }
    for (const double aside : {0.5, 4.0}) {
      out.push_back({{item.at.x + aside, above.at.y}, Anchor::start});
      out.push_back({{item.at.x - aside, above.at.y}, Anchor::end});
      out.push_back({{item.at.x + aside, below.at.y}, Anchor::start});
      out.push_back({{item.at.x - aside, below.at.y}, Anchor::end});
    }
    return out;
  }

  bool text_free(const Box& box) const {
    for (const Box& b : texts_)
      if (b.overlaps(grown(box, 0.2))) return false;
    for (const Item& item : layout_.items)
      if (body_box(item).overlaps(box)) return false;
    return grid_.empty(grown(box, 0.1));
  }

  void take(const Box& box) {
    texts_.push_back(box);
    grid_.block(grown(box, 0.1));
  }

  /// The reference, and room for the value under it.
  void place_texts(const Item& item) {
    std::size_t longest = width_of(item.ref) > 0 ? item.ref.size() : 0;
    for (const std::string& line : item.value) longest = std::max(longest, line.size());
    const std::size_t lines = 1 + item.value.size();
    for (const bool with_value : {true, false})
      for (const Spot& spot : spots(item, with_value ? lines : 1)) {
        const double wide =
            with_value ? kCharacterWidth * kText * double(longest) : width_of(item.ref);
        const Box all = text_box(spot.at, wide, with_value ? lines : 1, spot.anchor);
        if (!text_free(all)) continue;
        const Box own = text_box(spot.at, width_of(item.ref), 1, spot.anchor);
        take(own);
        grid_.discourage(all);
        kept_.push_back(all);
        lines_.push_back({spot.at, item.ref, spot.anchor, true});
        if (with_value) under_[item.ref] = {{spot.at.x, spot.at.y + kPitch}, spot.anchor};
        return;
      }
    homeless_.push_back(item.ref);  // no room at all: render() writes it into the symbol's centre
  }

  void place_rails() {
    for (const Row& row : layout_.rows) {
      grid_.add({{2, row.rail_y}, {row.right - 2, row.rail_y}}, net_of(kRail));
      grid_.add({{2, row.ground_y}, {row.right - 2, row.ground_y}}, net_of(kGround));
      const Box rail = text_box({2, row.rail_y - 0.6}, width_of(rail_text()), 1, Anchor::start);
      take(rail);
      lines_.push_back({{2, row.rail_y - 0.6}, rail_text(), Anchor::start, false});
      const XY at{4.2, row.ground_y + kAscent + 0.5};
      take(text_box(at, width_of("0 V"), 1, Anchor::start));
      lines_.push_back({at, "0 V", Anchor::start, false});
      grounds_.push_back({2, row.ground_y});
      // No wire leaves the stretch between the two lines.
      grid_.block({-2, row.rail_y - 1.0, double(row.right + 2), row.rail_y - 1.0});
      grid_.block({-2, row.ground_y + 1.0, double(row.right + 2), row.ground_y + 1.0});
    }
  }

  std::string rail_text() const { return "rail " + with_unit(design_.brief.supply.voltage_V, "V"); }

  /// Straight to the supply lines where the way is clear, else a symbol of its own.
  void wire_supplies() {
    for (const char* node : {kRail, kGround, kLogic})
      for (auto& [key, terminals] : by_net_) {
        if (key.first != node) continue;
        const Row& row = layout_.rows[static_cast<std::size_t>(key.second)];
        for (const Terminal& t : terminals) {
          const bool up = key.first != kGround;
          const GridPoint line{t.at.x, up ? row.rail_y : row.ground_y};
          const bool facing = t.dy == (up ? -1 : 1);
          if (key.first != kLogic && facing && grid_.free({t.at, line}, net_of(node)))
            grid_.add({t.at, line}, net_of(node));
          else
            place_flag(up ? FlagKind::supply : FlagKind::ground, t,
                       key.first == kLogic ? "logic"
                       : up                ? "rail"
                                           : "",
                       20);
        }
      }
  }

  Box flag_box(const Flag& f) const {
    const double x = f.at.x, y = f.at.y, w = width_of(f.text);
    if (f.kind == FlagKind::ground) return {x - 1.2, y + 0.2, x + 1.2, y + 1.9};
    if (f.kind == FlagKind::supply) return {x - w / 2, y - 0.6 - kAscent, x + w / 2, y - 0.2};
    const double left = f.side > 0 ? x + 0.6 : x - w - (f.kind == FlagKind::pin ? 1.8 : 0.6);
    return {left, y - 0.8, left + w + (f.kind == FlagKind::pin ? 1.2 : 0.0), y + 0.8};
  }

  /// Of a value yet to be written, or so near to it that the two read as one.
  bool in_the_way(const Box& box) const {
    constexpr double kAir = 0.6;
    const Box wide = grown(box, kAir);
    return std::any_of(kept_.begin(), kept_.end(), [&](const Box& b) { return b.overlaps(wide); });
  }

  /// Finds room for a flag near the terminal and wires it to it. Outputs look to the right, all
  /// others where the terminal points.
  bool place_flag(FlagKind kind, const Terminal& t, const std::string& text, int reach) {
    struct Try {
      double cost;
      Flag flag;
    };
    std::vector<Try> tries;
    const bool free_side = kind == FlagKind::supply || kind == FlagKind::ground;
    const int wanted = kind == FlagKind::pin || kind == FlagKind::label ? -1 : 1;
    for (int dy = -reach; dy <= reach; ++dy)
      for (int dx = -reach; dx <= reach; ++dx)
        for (const int side : {-1, 1}) {
          if (free_side && side < 0) continue;
          const double behind = dx * t.dx + dy * t.dy < 0 ? 4 : 0;
          const double bends = dx != 0 && dy != 0 ? 3 : 0;
          const double turn = free_side || side == (t.dx != 0 ? t.dx : wanted) ? 0 : 5;
          // A label on the side of its wire would sit on it.
          if (!free_side && dx * side < 0) continue;
          const Flag flag{kind, {t.at.x + dx, t.at.y + dy}, side, text};
          const double spoils = in_the_way(flag_box(flag)) ? 8 : 0;
          // On a terminal that points elsewhere a flag would look like part of the symbol.
          const double on_top = !free_side && dx == 0 && dy == 0 && t.dx != side ? 5 : 0;
          tries.push_back(
              {std::abs(dx) + std::abs(dy) + behind + bends + turn + spoils + on_top, flag});
        }
    std::stable_sort(tries.begin(), tries.end(),
                     [](const Try& a, const Try& b) { return a.cost < b.cost; });
    const int net = net_of(t.node);
    int routed = 0;
    for (const Try& candidate : tries) {
      const Flag& f = candidate.flag;
      if (!text_free(flag_box(f))) continue;
      if (!(f.at == t.at)) {
        if (!grid_.empty({double(f.at.x), double(f.at.y), double(f.at.x), double(f.at.y)}))
          continue;
        if (++routed > 40) return false;  // the neighbourhood is walled in
        const Box box = flag_box(f);
        WireGrid with = grid_;
        with.block(grown(box, 0.1));
        with.reserve(f.at, net);
        if (!with.route(net, {t.at}, f.at, candidate.cost + 12)) continue;
        grid_ = std::move(with);
      }
      take(flag_box(f));
      flags_.push_back(f);
      return true;
    }
    return false;
  }

  /// Controller pins at the left of what they drive, outputs at the right.
  void place_pin_flags() {
    std::map<std::string, std::pair<FlagKind, std::string>> named;
    for (const auto* winding : {&design_.wiring.winding_a, &design_.wiring.winding_b})
      for (const std::string& node : *winding) named[node] = {FlagKind::output, node};
    for (const Pin& pin : design_.wiring.pins) named[pin.node] = {FlagKind::pin, pin.name};
    for (const auto& [node, name] : analog_) named[node] = {FlagKind::pin, name};
    for (auto& [key, terminals] : by_net_) {
      const auto it = named.find(key.first);
      if (it == named.end()) continue;
      std::vector<Terminal> order = terminals;
      const int right = it->second.first == FlagKind::output ? 1 : -1;
      std::stable_sort(order.begin(), order.end(), [&](const Terminal& a, const Terminal& b) {
        // The outermost; among equals the one that looks outwards.
        return right * (a.at.x + a.dx) > right * (b.at.x + b.dx);
      });
      // A winding's two ends are apart: each is a net piece of its own.
      std::vector<Terminal> windings;
      for (const Item& item : layout_.items)
        if (item.symbol == &winding_symbol())
          for (const Terminal& t : item.terminals)
            if (t.node == key.first && t.row == key.second) windings.push_back(t);
      for (const Terminal& t : windings) {
        place_flag(FlagKind::output, t, it->second.second, 10);
        std::erase_if(order, [&](const Terminal& o) { return o.at == t.at; });
        std::erase_if(terminals, [&](const Terminal& o) { return o.at == t.at; });
      }
      for (const Terminal& t : order)
        if (place_flag(it->second.first, t, it->second.second, 14)) break;
    }
  }

  static double span(const std::vector<Terminal>& ts) {
    double s = 0;
    for (const Terminal& a : ts)
      s = std::max(s, double(std::abs(a.at.x - ts[0].at.x) + std::abs(a.at.y - ts[0].at.y)));
    return s;
  }

  void wire_nets() {
    std::vector<std::pair<const std::string*, std::vector<Terminal>>> nets;
    std::map<std::string, int> rows;
    for (const auto& [key, terminals] : by_net_) {
      if (key.first == kRail || key.first == kGround || key.first == kLogic) continue;
      rows[key.first] += !terminals.empty();
      if (!terminals.empty()) nets.emplace_back(&key.first, terminals);
    }
    std::stable_sort(nets.begin(), nets.end(),
                     [](const auto& a, const auto& b) { return span(a.second) < span(b.second); });
    for (const auto& [node, terminals] : nets) wire_net(*node, terminals, rows[*node] > 1);
  }

  bool flagged(const std::string& node) const {
    for (const Pin& pin : design_.wiring.pins)
      if (pin.node == node) return true;
    if (analog_.contains(node)) return true;
    for (const auto* w : {&design_.wiring.winding_a, &design_.wiring.winding_b})
      if (std::find(w->begin(), w->end(), node) != w->end()) return true;
    return false;
  }

  std::string label_of(const std::string& node) const {
    for (const Pin& pin : design_.wiring.pins)
      if (pin.node == node) return pin.name;
    const auto analog = analog_.find(node);
    return analog == analog_.end() ? node : analog->second;
  }

  void wire_net(const std::string& node, std::vector<Terminal> terminals, bool in_other_rows) {
    const int net = net_of(node);
    std::stable_sort(terminals.begin(), terminals.end(), [&](const Terminal& a, const Terminal& b) {
      return std::abs(a.at.x - terminals[0].at.x) + std::abs(a.at.y - terminals[0].at.y) <
             std::abs(b.at.x - terminals[0].at.x) + std::abs(b.at.y - terminals[0].at.y);
    });
    bool label = in_other_rows && !flagged(node);
    for (std::size_t i = 1; i < terminals.size(); ++i) {
      const double direct = std::abs(terminals[i].at.x - terminals[0].at.x) +
                            std::abs(terminals[i].at.y - terminals[0].at.y);
      if (grid_.route(net, {terminals[0].at}, terminals[i].at, 2 * direct + 30)) continue;
      name_end(terminals[i]);
      label = label || !flagged(node);
    }
    if (label) name_end(terminals[0]);
  }

  void name_end(const Terminal& t) {
    if (!place_flag(FlagKind::label, t, label_of(t.node), 10)) loose_.push_back(t);
  }

  void place_values() {
    for (const Item& item : layout_.items) {
      if (item.value.empty()) continue;
      double wide = 0;
      for (const std::string& line : item.value) wide = std::max(wide, width_of(line));
      std::vector<Spot> all = spots(item, item.value.size());
      const auto under = under_.find(item.ref);
      if (under != under_.end()) all.insert(all.begin(), under->second);
      bool done = false;
      for (const Spot& spot : all) {
        const Box box = text_box(spot.at, wide, item.value.size(), spot.anchor);
        if (!text_free(box)) continue;
        take(box);
        for (std::size_t i = 0; i < item.value.size(); ++i)
          lines_.push_back(
              {{spot.at.x, spot.at.y + kPitch * double(i)}, item.value[i], spot.anchor});
        done = true;
        break;
      }
      if (!done) key_[join(item.value, "")].push_back(item.ref);
    }
  }

  std::vector<std::string> key_lines() const {
    std::vector<std::string> out;
    out.reserve(key_.size());
    for (const auto& [value, refs] : key_) out.push_back(join(refs, " ") + ": " + value);
    for (const Terminal& t : loose_)
      for (const Item& item : layout_.items)
        for (const Terminal& own : item.terminals)
          if (own.at == t.at) out.push_back(item.ref + " also joins net " + label_of(t.node));
    return out;
  }

  void draw_flag(Svg& svg, const Flag& f) const {
    const double x = f.at.x, y = f.at.y, w = width_of(f.text);
    const double base = y + 0.5;
    switch (f.kind) {
      case FlagKind::ground:
        for (const double i : {0.0, 1.0, 2.0})
          svg.line({x - 1.2 + 0.4 * i, y + 0.5 + 0.5 * i}, {x + 1.2 - 0.4 * i, y + 0.5 + 0.5 * i});
        svg.line({x, y}, {x, y + 0.5});
        return;
      case FlagKind::supply:
        svg.line({x - 1, y}, {x + 1, y});
        draw_text(svg, {{x, y - 0.6}, f.text, Anchor::middle});
        return;
      case FlagKind::pin: {
        const double s = f.side, far = x + s * (w + 1.8);
        svg.polygon(
            {{x, y}, {x + s * 0.9, y - 1}, {far, y - 1}, {far, y + 1}, {x + s * 0.9, y + 1}});
        draw_text(svg, {{x + s * 1.2, base}, f.text, s > 0 ? Anchor::start : Anchor::end});
        return;
      }
      case FlagKind::output:
        svg.circle({x, y}, 0.35);
        break;
      case FlagKind::label:
        break;
    }
    draw_text(svg, {{x + f.side * 0.6, base}, f.text, f.side > 0 ? Anchor::start : Anchor::end});
  }

  static void draw_text(Svg& svg, const TextLine& line) {
    svg.text(line.at, line.text, kText, line.anchor,
             line.strong ? "stroke=\"none\" fill=\"currentColor\" font-weight=\"bold\""
                         : "stroke=\"none\" fill=\"currentColor\"");
  }

  std::string render() {
    const std::vector<std::string> key = key_lines();
    double right = layout_.rows.front().right + 2.0;
    for (const std::string& line : key) right = std::max(right, 2 + width_of(line) + 2);
    const double bottom = layout_.rows.back().ground_y + 4.0;
    Svg svg(-1, -3, right + 1, bottom + 3 + double(key.size()) * kKeyPitch,
            "Schematic: " + design_.wiring.title, "class=\"schematic\"");
    svg.open_group(
        "fill=\"none\" stroke=\"currentColor\" stroke-width=\"" + svg_number(kLineWidth) +
        "\" stroke-linecap=\"round\" stroke-linejoin=\"round\" font-family=\"ui-monospace, "
        "DejaVu Sans Mono, monospace\"");
    // What a page finds parts, nets and their ends by, to mark them.
    const auto place_text = [](GridPoint p) {
      return std::to_string(p.x) + "," + std::to_string(p.y);
    };
    const auto named = [](const char* what, const std::string& name) {
      return std::string(what) + "=\"" + escape_markup(name) + "\"";
    };
    for (const auto& [node, net] : nets_) {
      svg.open_group(named("data-net", node));
      for (const Wire& w : grid_.wires(net))
        svg.line({double(w.from.x), double(w.from.y)}, {double(w.to.x), double(w.to.y)});
      svg.close_group();
    }
    for (const Item& item : layout_.items) {
      std::string ends;  // where its terminals are, in the template's order
      for (const Terminal& t : item.terminals) ends += (ends.empty() ? "" : " ") + place_text(t.at);
      svg.open_group(named("data-ref", item.ref) + " " + named("data-ends", ends));
      draw_symbol(svg, *item.symbol, {double(item.at.x), double(item.at.y)}, item.turn);
      svg.close_group();
    }
    std::vector<GridPoint> joints = grid_.joints();
    for (const Item& item : layout_.items)
      for (const Terminal& t : item.terminals)
        if (grid_.arms(t.at) == 2) joints.push_back(t.at);  // the symbol's lead is the third
    for (const GridPoint& p : joints)
      svg.circle({double(p.x), double(p.y)}, 0.3, {.fill = "currentColor"});
    std::vector<Flag> flags = flags_;
    for (const GridPoint& p : grounds_) flags.push_back({FlagKind::ground, p, 1, ""});
    for (const Flag& f : flags) {
      svg.open_group(named("data-flag", place_text(f.at)));
      draw_flag(svg, f);
      svg.close_group();
    }
    for (const TextLine& line : lines_) draw_text(svg, line);
    for (std::size_t i = 0; i < key.size(); ++i)
      draw_text(svg, {{2, bottom + double(i) * kKeyPitch}, key[i]});
    for (const std::string& ref : homeless_)
      for (const Item& item : layout_.items)
        if (item.ref == ref)
          draw_text(svg, {{double(item.at.x), double(item.at.y)}, ref, Anchor::middle, true});
    svg.close_group();
    return svg.finish();
  }

  const Design& design_;
  std::map<std::string, std::string>
      analog_;  // nodes of the controller that are no digital outputs
  Layout layout_;
  WireGrid grid_;
  std::map<std::string, int> nets_;
  std::map<std::pair<std::string, int>, std::vector<Terminal>> by_net_;  // (node, row)
  std::vector<Box> texts_, kept_;  // taken; better left to values
  std::vector<TextLine> lines_;
  std::vector<Flag> flags_;
  std::vector<GridPoint> grounds_;
  std::map<std::string, Spot> under_;                    // ref -> where its value is best
  std::map<std::string, std::vector<std::string>> key_;  // value -> refs without room for it
  std::vector<Terminal> loose_;
  std::vector<std::string> homeless_;
};

}  // namespace

std::string schematic_svg(const Design& design) { return Drawing(design).draw(); }

}  // namespace pb::delivery
