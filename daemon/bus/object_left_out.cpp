// SPDX-License-Identifier: MIT
// In the place of object.cpp, for a system on which nobody follows (NIGHTLATCH_BUS_OBJECT=OFF): no
// name on the bus, and nothing there to call. The service still asks the login manager over it.
#include "daemon/bus/object.hpp"

#include <utility>

namespace nightlatch::bus {

Object::Object(Surroundings around, supervisor::Publisher::Constant constant)
    : around_(std::move(around)), published_(std::move(constant)),
      gate_(around_.loop, call_off_action, around_.patience, [](const Caller&) {}),
      changed_(around_.loop.deferred([] {})), watching_(around_.loop.each_turn([] {})) {}

void Object::happened(const supervisor::Event& /*event*/) {}

void Object::on_disk(supervisor::OnDisk /*state*/, const std::string& /*trouble*/) {}

void Object::bus_connected(sd_bus* /*bus*/) {}

void Object::bus_lost() {}

}  // namespace nightlatch::bus
