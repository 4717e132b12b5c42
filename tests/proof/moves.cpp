// SPDX-License-Identifier: MIT
#include "world.hpp"

namespace nightlatch::proof {

namespace {

void add_messages(const Alphabet& alphabet, std::vector<Kind>& kinds) {
    const auto add = [&kinds](bool wanted, std::initializer_list<Kind> some) {
        if (wanted) {
            kinds.insert(kinds.end(), some);
        }
    };
    add(alphabet.dry, {Kind::would_do});
    add(alphabet.answers && !alphabet.dry && !alphabet.prompt, {Kind::send, Kind::accept});
    add(alphabet.answers, {Kind::refuse});
    add(alphabet.route && !alphabet.dry, {Kind::take_up});
    add(alphabet.former, {Kind::accept_former, Kind::refuse_former});
    add(alphabet.going, {Kind::going_down, Kind::not_going_down});
    add(alphabet.preparing, {Kind::preparing_no, Kind::preparing_unknown});
    add(alphabet.preparing && alphabet.going, {Kind::preparing_yes});
    add(alphabet.manager, {Kind::manager_gone, Kind::manager_back});
    add(alphabet.call_off, {Kind::call_off});
}

void add_line(const Alphabet& alphabet, std::uint8_t line, std::vector<Move>& moves) {
    const std::uint8_t edges = alphabet.late_edges ? 4 : 2;
    for (std::uint8_t edge = 0; edge < edges; ++edge) {
        moves.push_back({Kind::edge, edge, line});
    }
    for (std::uint8_t level = 0; level < 2; ++level) {
        moves.push_back({Kind::opened, level, line});
        moves.push_back({Kind::resync, level, line});
    }
    if (alphabet.vanishes) {
        moves.push_back({Kind::vanish, 0, line});
    }
}

}  // namespace

std::vector<Move> moves_of(const Alphabet& alphabet, std::size_t line_count) {
    const auto lines = static_cast<std::uint8_t>(line_count);
    std::vector<Move> moves{{Kind::tick}, {Kind::wake}};
    std::vector<Kind> kinds;
    add_messages(alphabet, kinds);
    for (const Kind kind : kinds) {
        moves.push_back({kind});
    }
    if (alphabet.false_reads) {
        kinds.push_back(Kind::wake);
        for (std::uint8_t line = 0; line < lines; ++line) {
            for (const Kind kind : kinds) {
                moves.push_back({kind, 0, line, true});
            }
        }
    }
    for (auto line = static_cast<std::uint8_t>(alphabet.button ? 0 : 1); line < lines; ++line) {
        add_line(alphabet, line, moves);
    }
    if (!alphabet.button) {
        moves.push_back({Kind::opened, 0, 0});
        moves.push_back({Kind::resync, 0, 0});
    }
    if (alphabet.vanishes) {
        moves.push_back({Kind::may_be_back});
    }
    if (alphabet.reloads) {
        moves.push_back({Kind::new_settings});
    }
    return moves;
}

std::string text_of(const Move& move) {
    static constexpr const char* names[] = {"time passes",
                                            "wake-up",
                                            "edge",
                                            "Resync",
                                            "line gone",
                                            "line opened",
                                            "chips changed",
                                            "reload",
                                            "sent",
                                            "accepted",
                                            "taken up",
                                            "refused",
                                            "dry run",
                                            "former accepted",
                                            "former refused",
                                            "going down",
                                            "not going down",
                                            "preparing: yes",
                                            "preparing: no",
                                            "preparing: cannot tell",
                                            "login manager gone",
                                            "login manager back",
                                            "call off"};
    std::string text = names[static_cast<std::size_t>(move.kind)];
    if (move.kind == Kind::edge) {
        text += move.argument % 2 == 1 ? " pressed" : " released";
        text += move.argument >= 2 ? ", a tick late" : "";
    } else if (move.kind == Kind::resync || move.kind == Kind::opened) {
        text += move.argument == 1 ? " pressed" : " released";
    }
    if (move.line != 0) {
        text += " (alarm " + std::to_string(move.line) + ")";
    }
    return text + (move.reads_falsely ? ", a false read" : "");
}

}  // namespace nightlatch::proof
