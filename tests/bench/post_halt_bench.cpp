// SPDX-License-Identifier: MIT
// What the service's look at the post-halt line takes on a live folder of 3,000 nodes: at the
// start, and when a stage is reached. The shortest of many, because everything else only adds.
#include "daemon/service/live_post_halt.hpp"
#include "support/made_board.hpp"
#include "support/opens.hpp"

#include <algorithm>
#include <chrono>
#include <cstdio>

using namespace nightlatch;

namespace {

constexpr unsigned nodes = 3'000;

double shortest_ms(service::LivePostHalt& post_halt, ports::LookAt what, int times) {
    const config::Settings settings = test::MadeBoard::settings();
    double shortest = 1e9;
    for (int i = 0; i < times; ++i) {
        const auto begin = std::chrono::steady_clock::now();
        static_cast<void>(post_halt.look(settings, what));
        const std::chrono::duration<double, std::milli> took =
            std::chrono::steady_clock::now() - begin;
        shortest = std::min(shortest, took.count());
    }
    return shortest;
}

}  // namespace

int main() {
    const test::MadeBoard board(nodes);
    service::LivePostHalt post_halt(board.made.root(), board.places());
    const double all = shortest_ms(post_halt, ports::LookAt::all, 5);
    const double line = shortest_ms(post_halt, ports::LookAt::line, 100);
    test::OpensBelow opens(board.made.root());
    const auto report = post_halt.look(test::MadeBoard::settings(), ports::LookAt::line);
    std::printf("post-halt line, %u nodes: at start and reload %.1f ms; at `ready` %.3f ms, "
                "%zu files and the chip opened\n",
                nodes,
                all,
                line,
                opens.take());
    return report.verdict == core::Verdict::configured ? 0 : 1;
}
